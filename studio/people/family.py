"""Who of the staff is family of a child, and so decides nothing about it (studio/access.py).

Shared: used by access and the child's facts.
"""

import datetime
import logging

from django.db import transaction
from django.db.models import QuerySet

from studio.models import Child, FamilyOnStaff, Staff
from studio.people.records import root_of

log = logging.getLogger("ladder.staff")


def family_on_staff(child: Child) -> "QuerySet[FamilyOnStaff]":
    """Those who are family of a child now, of all its records."""
    rows = FamilyOnStaff.objects.filter(child__in=child.records, ended_at=None)
    return rows.select_related("staff").order_by("staff__first_name", "pk")


def is_family(staff: Staff, child: Child) -> bool:
    return family_on_staff(child).filter(staff=staff).exists()


def children_of_family(staff: Staff) -> set[int]:
    """The children of whom somebody is family now."""
    rows = FamilyOnStaff.objects.filter(staff=staff, ended_at=None)
    return set(rows.values_list(root_of("child"), flat=True))


def say_family(child: Child, staff: Staff, by: Staff, now: datetime.datetime) -> None:
    """Said twice it is said once. Decisions about the child wait for it, or it for them."""
    with transaction.atomic():
        Child.objects.select_for_update(no_key=True).get(pk=child.pk)
        FamilyOnStaff.objects.get_or_create(
            staff=staff, child=child, ended_at=None, defaults={"by": by, "at": now}
        )
    log.info("family staff=%s child=%s by=%s", staff.uuid, child.uuid, by.uuid)


def end_family(row: FamilyOnStaff, by: Staff, now: datetime.datetime) -> None:
    """It was a mistake, or is so no more. Ended twice it is ended once."""
    FamilyOnStaff.objects.filter(pk=row.pk, ended_at=None).update(ended_at=now, ended_by=by)
    log.info("no family staff=%s child=%s by=%s", row.staff_id, row.child.uuid, by.uuid)
