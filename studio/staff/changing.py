"""An account made on the page, or changed: name, role, halls, classes, papers.

What a form does not show is never touched: halls and classes of other directors stay.
"""

import datetime
import logging
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from studio.access import visible_classes, visible_locations
from studio.as_seen import mark, refuse_if_changed
from studio.models import AccountChange, ClassGroup, Location, Staff, StaffPaper
from studio.signed_in.sessions import end_everywhere
from studio.staff.accounts import tell

log = logging.getLogger("ladder.staff")

COLUMNS = ("first_name", "last_name", "role")


def invite(said: Mapping[str, Any], by: Staff, now: datetime.datetime) -> Staff:
    """An account without a password: its owner chooses one with a link."""
    with transaction.atomic():
        staff = Staff(
            username=said["username"],
            guest_on=said["guest_on"],
            **{column: said[column] for column in COLUMNS},
        )
        staff.set_unusable_password()
        staff.save(force_insert=True)
        staff.locations.set(said["halls"])
        staff.classes.set(said["classes"])
        tell(staff, AccountChange.What.MADE, by, now)
    log.info("made staff=%s role=%s by=%s", staff.uuid, staff.role, by.uuid)
    return staff


def account_mark(staff: Staff) -> str:
    """Of what the account's form was shown with."""
    return mark(*_account_facts(staff))


def _account_facts(staff: Staff) -> tuple[object, ...]:
    halls = sorted(staff.locations.values_list("pk", flat=True))
    classes = sorted(staff.classes.values_list("pk", flat=True))
    return (*(str(getattr(staff, column)) for column in COLUMNS), halls, classes)


def change(
    staff: Staff, said: Mapping[str, Any], seen: str, by: Staff, now: datetime.datetime
) -> None:
    """``said`` has no role where it may not be changed. Raises ChangedMeanwhile."""
    with transaction.atomic():
        row = Staff.objects.select_for_update(no_key=True).get(pk=staff.pk)
        refuse_if_changed(seen, *_account_facts(row))
        changed = [column for column in COLUMNS if said.get(column, "") != getattr(row, column)]
        changed = [column for column in changed if column in said]
        for column in changed:
            setattr(row, column, said[column])
        if changed:
            row.save(update_fields=changed)
        moved = _set_only(row.locations, visible_locations(by), said["halls"])
        moved |= _set_only(row.classes, visible_classes(by), said["classes"])
        if changed or moved:
            what = AccountChange.What.ROLE if "role" in changed else AccountChange.What.OTHER
            tell(row, what, by, now)
        if "role" in changed:
            end_everywhere(row, now)
    log.info("changed staff=%s by=%s", staff.uuid, by.uuid)


def _set_only(
    rows: Any, mine: "Iterable[Location] | Iterable[ClassGroup]", wanted: Iterable[Any]
) -> bool:
    """Of those that the director sees, exactly the wanted ones; the others stay as they are."""
    now_there = set(rows.all())
    then = (now_there - set(mine)) | set(wanted)
    if then != now_there:
        rows.set(then)
    return then != now_there


def papers_of(staff: Staff) -> dict[str, datetime.date]:
    """By kind, the last day on which each is good."""
    return dict(staff.papers.order_by("kind").values_list("kind", "good_until"))


def papers_mark(staff: Staff) -> str:
    return mark(papers_of(staff))


def set_papers(
    staff: Staff, said: Mapping[str, datetime.date | None], seen: str, by: Staff
) -> None:
    """The dates of all kinds, None for a paper that there is not. Raises ChangedMeanwhile."""
    with transaction.atomic():
        Staff.objects.select_for_update(no_key=True).get(pk=staff.pk)
        refuse_if_changed(seen, papers_of(staff))
        for kind in StaffPaper.Kind.values:
            if said[kind] is None:
                StaffPaper.objects.filter(staff=staff, kind=kind).delete()
            else:
                row = {"good_until": said[kind]}
                StaffPaper.objects.update_or_create(staff=staff, kind=kind, defaults=row)
    log.info("papers staff=%s by=%s", staff.uuid, by.uuid)
