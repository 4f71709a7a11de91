"""A child added, changed, gone from the studio and back again; without a request.

Shared: used by the pages of children and the child's page.
"""

import datetime
import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from studio.models import Child, ClassGroup, Contact
from studio.people.class_lists import classes_of, join, leave
from studio.people.names import fold_name
from studio.people.records import all_records, records_of, root_of

CONTACT_FIELDS = (
    "name", "relation", "phone", "household", "to_call", "may_collect", "not_told",
)  # fmt: skip


def add_child(
    values: Mapping[str, Any],
    contacts: Sequence[Mapping[str, Any]],
    groups: Iterable[ClassGroup],
    day: datetime.date,
) -> Child:
    """A new child, in these classes from a day on."""
    with transaction.atomic():
        child = Child.objects.create(**values, name_key=fold_name(values["name"]))
        keep_contacts(child, contacts)
        for group in groups:
            join(child, group, day)
    return child


def change_child(
    child: Child, values: Mapping[str, Any], contacts: Sequence[Mapping[str, Any]]
) -> None:
    """Who had no name yet is a child like any other from then on."""
    for name, value in values.items():
        setattr(child, name, value)
    child.name_key = fold_name(child.name)
    with transaction.atomic():
        child.save(update_fields=[*values, "name_key", "search_key"])
        keep_contacts(child, contacts)


def keep_contacts(child: Child, contacts: Sequence[Mapping[str, Any]]) -> None:
    """These and no others. Who is there already stays as they are, under the record that has them:
    a merge is taken back without losing anybody."""
    wanted = list(contacts)
    for there in family_of(child):
        values = {name: getattr(there, name) for name in CONTACT_FIELDS}
        if values in wanted:
            wanted.remove(values)
        else:
            there.delete()
    Contact.objects.bulk_create(Contact(child=child, **values) for values in wanted)


def family_of(child: Child) -> list[Contact]:
    return families_of([child])[child.pk]


def families_of(children: Sequence[Child]) -> dict[int, list[Contact]]:
    """The family of each child, of all its records, by household, as they were written down."""
    families: dict[int, list[Contact]] = {child.pk: [] for child in children}
    records = records_of(list(families))
    for contact in Contact.objects.filter(child__in=list(records)).order_by("household", "pk"):
        families[records[contact.child_id]].append(contact)
    return families


def cautions_of(children: Sequence[Child]) -> dict[int, str]:
    """What is to be heeded of each child: the line of each of its records; "" for none."""
    cautions: dict[int, list[str]] = {child.pk: [] for child in children}
    lines = Child.objects.filter(pk__in=all_records(list(cautions))).exclude(caution="")
    for root, caution in lines.order_by("pk").values_list(root_of(), "caution"):
        cautions[root].append(caution)
    return {pk: "; ".join(dict.fromkeys(each)) for pk, each in cautions.items()}


def add_unnamed(
    group: ClassGroup, day: datetime.date, name: str = "", id_: uuid.UUID | None = None
) -> Child:
    """Somebody who came to a class and is in no list: the desk says later who it is. ``id_``: as
    the tablet that asks made it; asked twice, it is one child."""
    with transaction.atomic():
        # Two tablets that add one each give them two names.
        ClassGroup.objects.select_for_update(no_key=True).get(pk=group.pk)
        there = Child.objects.filter(uuid=id_, classes=group).first() if id_ else None
        if there is not None:
            return there
        names = (_("New child %(n)d") % {"n": n} for n in range(1, group.children.count() + 2))
        taken = set(group.children.values_list("name", flat=True))
        name = name or next(each for each in names if each not in taken)
        child = Child(name=name, name_key=fold_name(name))
        child.uuid = id_ or child.uuid
        child.save(force_insert=True)
        join(child, group, day)
    return child


def leave_studio(child: Child, day: datetime.date) -> None:
    """From that day on no list, no floor and no sheet has the child. The classes stay noted, so
    that whoever could open the child's page still can."""
    child.left_on = day
    child.save(update_fields=["left_on"])


def come_back(child: Child, groups: Iterable[ClassGroup], day: datetime.date) -> None:
    """Here again from a day on, in these classes: of the others the child was in none since it
    left."""
    if child.left_on is None:
        return
    with transaction.atomic():
        for group in classes_of([child])[child.pk]:
            leave(child, group, child.left_on)
        for group in groups:
            join(child, group, day)
        child.left_on = None
        child.save(update_fields=["left_on"])
