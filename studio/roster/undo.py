"""A roster that was brought in, undone as a whole; while nothing rests on it.

The children who came in with it are emptied: no name, no class. What was changed is as it was.
"""

import datetime
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from studio.imports.undo import note as keep
from studio.imports.undo import undo_once
from studio.models import (
    Attendance,
    BroughtIn,
    Child,
    ClassGroup,
    ClassListChange,
    ImportDraft,
    SpottingConsent,
    Staff,
)
from studio.people.class_lists import join, leave
from studio.people.consents import NewAnswer, answers_in_force, consents_of, write_down
from studio.people.names import fold_name, guardian_key
from studio.people.today import site_today
from studio.roster.plan import Plan, PlannedChild

# What is undone.


def fields_before(planned: PlannedChild) -> dict[str, list[Any]]:
    """Of a child who was here: each field that the roster writes, before and after."""
    child = planned.child
    fields = {name: value for name, value in planned.values.items() if name != "consent"}
    return {name: [getattr(child, name), value] for name, value in fields.items()} if child else {}


def note(
    plan: Plan,
    children: Iterable[Child],
    before: Iterable[Mapping[str, Any]],
    by: Staff | None,
    now: datetime.datetime,
) -> None:
    """Keep what a roster did. ``children`` and ``before``: those of the plan's children, as they
    are stored, and their fields before."""
    pairs = list(zip(plan.children, children, before, strict=True))
    done = {
        "made": [child.pk for planned, child, _fields in pairs if planned.child is None],
        "changed": [[child.pk, fields] for planned, child, fields in pairs if planned.child],
        "joined": [[c.pk, group.pk] for planned, c, _f in pairs for group in planned.joins],
        "left": [[leaving.child.pk, leaving.group.pk] for leaving in plan.leaves],
    }
    keep(ImportDraft.Kind.ROSTER, done, by, now)


# What rests on it.


def what_rests_on(row: BroughtIn) -> list[str]:
    """Sentences; none if it can be undone."""
    touched = {*row.done["made"], *(pk for pk, _fields in row.done["changed"])}
    touched |= {pk for pk, _group in row.done["left"]}
    children = Child.objects.in_bulk(touched)
    resting = {
        *_with_rows(row),
        *(pk for pk, fields in row.done["changed"] if not _is_as_left(children[pk], fields)),
        *_seen_in_class(row),
        *_answered_since(row, touched),
    }
    names = sorted(children[pk].name for pk in resting)
    return [_("Something was added or changed since: %(name)s.") % {"name": name} for name in names]


def _with_rows(row: BroughtIn) -> set[int]:
    """The children who came in with it and of whom anything else is told by now."""
    made = row.done["made"]
    found: set[int] = set()
    for relation in Child._meta.get_fields(include_hidden=True):
        if not isinstance(relation, models.ManyToOneRel) or not _tells_of_child(relation):
            continue
        model, name = relation.related_model, relation.field.name
        rows = model._default_manager.filter(**{f"{name}__in": made})
        if model is SpottingConsent:
            rows = rows.exclude(at=row.at)
        found.update(rows.values_list(name, flat=True))
    now = _classes(made)
    joined = _by_child(row.done["joined"])
    return found | {pk for pk in made if now.get(pk) != joined.get(pk)}


def _tells_of_child(relation: models.ManyToOneRel) -> bool:
    """What is worked out anew at any time tells nothing; the classes are compared by themselves."""
    model = relation.related_model
    if model._meta.auto_created or model is ClassListChange:
        return False
    return relation.on_delete is models.PROTECT or model._meta.app_label == "studio"


def _classes(children: Iterable[int]) -> dict[int, set[int]]:
    rows = Child.classes.through.objects.filter(child__in=list(children))
    return _by_child(rows.values_list("child_id", "classgroup_id"))


def _by_child(pairs: Iterable[Any]) -> dict[int, set[int]]:
    groups: dict[int, set[int]] = {}
    for child, group in pairs:
        groups.setdefault(child, set()).add(group)
    return groups


def _is_as_left(child: Child, fields: Mapping[str, list[Any]]) -> bool:
    return all(_plain(getattr(child, name)) == after for name, (_b, after) in fields.items())


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, datetime.date) else value


def _seen_in_class(row: BroughtIn) -> set[int]:
    """Those who were in a class since that the roster put them into, or are where it took them
    from."""
    joined, left = _by_child(row.done["joined"]), _by_child(row.done["left"])
    since = Attendance.objects.filter(child__in=joined, at__gte=row.at, present=True)
    seen = since.values_list("child_id", "meeting__group_id")
    now = _classes([*joined, *left])
    return {
        *(child for child, group in seen if group in joined[child]),
        *(child for child, groups in joined.items() if not groups <= now.get(child, set())),
        *(child for child, groups in left.items() if groups & now.get(child, set())),
    }


def _answered_since(row: BroughtIn, children: Iterable[int]) -> set[int]:
    with_it = SpottingConsent.objects.filter(child__in=list(children), at=row.at).values("child")
    later = SpottingConsent.objects.filter(child__in=with_it, at__gt=row.at)
    return set(later.values_list("child", flat=True))


# Undoing it.


def undo(row: BroughtIn, by: Staff, now: datetime.datetime) -> None:
    """Everything is as it was before. Twice is once. Raises RestsOnIt; then nothing is changed."""
    undo_once(row, by, now, what_rests_on, _take_back)


def _take_back(row: BroughtIn, by: Staff, now: datetime.datetime) -> None:
    _take_answers_back(row, by, now)
    _put_classes_back(row, site_today(now))
    for pk, fields in row.done["changed"]:
        _write(Child.objects.get(pk=pk), {name: old for name, (old, _new) in fields.items()})
    for child in Child.objects.filter(pk__in=row.done["made"]):
        _write(child, _nobody(site_today(now)))


def _nobody(today: datetime.date) -> dict[str, Any]:
    """A record that is of nobody: rows that are only added to still name it."""
    return {
        **dict.fromkeys(["name", "name_used", "list_id", "guardian"], ""),
        "birth_year": None,
        "birth_month": None,
        "left_on": today,
    }


def _write(child: Child, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        is_day = name == "left_on" and isinstance(value, str)
        setattr(child, name, datetime.date.fromisoformat(value) if is_day else value)
    child.name_key = fold_name(child.name)
    child.save(update_fields=[*values, "name_key", "search_key"])


def _put_classes_back(row: BroughtIn, today: datetime.date) -> None:
    pairs = [*row.done["joined"], *row.done["left"]]
    children = Child.objects.in_bulk({child for child, _group in pairs})
    groups = ClassGroup.objects.in_bulk({group for _child, group in pairs})
    for child, group in row.done["joined"]:
        leave(children[child], groups[group], today)
    for child, group in row.done["left"]:
        join(children[child], groups[group], today)


def _take_answers_back(row: BroughtIn, by: Staff, now: datetime.datetime) -> None:
    """The answer that stood before is written down again; where none did, it is to be asked."""
    today = site_today(now)
    children = Child.objects.filter(pk__in=[pk for pk, _fields in row.done["changed"]])
    again = []
    answers = consents_of(children)
    for child in children.order_by("pk"):
        for new in (answer for answer in answers[child.pk] if answer.at == row.at):
            before = [a for a in answers[child.pk] if a.at < row.at and _of_same(a, new)]
            stood = next(iter(answers_in_force(before, today)), None)
            yes, until = (stood.yes, stood.asked_again_on) if stood else (False, today)
            again.append(NewAnswer(child, new.guardian, yes, until))
    write_down(again, by.called, today, by, now)


def _of_same(one: SpottingConsent, other: SpottingConsent) -> bool:
    return guardian_key(one.guardian) == guardian_key(other.guardian)
