"""The children of a class whose lines come in, with their rows locked, in one order, so that two
calls never wait for each other.

Of a child with several records only the one that stands for it is locked. That is found by a
longer query, which nearly every call does without.
"""

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from progression.models import Attempt
from readiness.record.merged.turns import with_records
from readiness.record.standings import lock
from studio.db.prepared import prepared
from studio.models import Child, Meeting
from studio.people.class_lists import belonged_or_belongs, record_belongs
from studio.people.records import root_of, roots_of

CHILD = ["id", "uuid", "merged_into_id"]
# A tablet that has not been online for longer is told of the children who left.
MAY_NOT_KNOW = datetime.timedelta(days=30)
HAS_OTHERS = Exists(Child.objects.filter(merged_into=OuterRef("pk")))


class SeveralRecords(Exception):
    """Somebody has several records, or is not of the class by the own one: the rows are to be let
    go and locked by ``lock_with_records``."""


def lock_records(meeting: Meeting, named: set[uuid.UUID], struck: set[uuid.UUID]) -> list[Child]:
    """The children of the class that are named, or all where turns are struck; the rows of others
    whose turns are struck are locked as well."""
    if not struck:
        rows = _class_rows(meeting.group_id, *_days(meeting), named)
    else:
        rows = _class_or_struck_rows(meeting.group_id, *_days(meeting), struck)
    children = [Child.from_db("default", CHILD, row[: len(CHILD)]) for row in rows]
    several = any(child.merged_into_id for child in children) or any(row[3] for row in rows)
    if several or not named <= {child.uuid for child in children}:
        raise SeveralRecords
    return [child for child, row in zip(children, rows, strict=True) if row[-1] or not struck]


def _days(meeting: Meeting) -> tuple[datetime.date, datetime.date]:
    """The meeting's, and the day since when a child may have left without the tablet's knowing."""
    return meeting.date, meeting.date - MAY_NOT_KNOW


@prepared
def _class_rows(
    group: int, day: datetime.date, since: datetime.date, children: Sequence[uuid.UUID]
) -> QuerySet[Any, Any]:
    found = Child.objects.filter(record_belongs(group, day, since), uuid__in=children)
    return lock(found).values_list(*CHILD, HAS_OTHERS)


@prepared
def _class_or_struck_rows(
    group: int, day: datetime.date, since: datetime.date, struck: Sequence[uuid.UUID]
) -> QuerySet[Any, Any]:
    members = record_belongs(group, day, since)
    theirs = Attempt.objects.filter(pk__in=struck).values("child")
    found = Child.objects.filter(members | Q(pk__in=theirs))
    marked = found.annotate(in_class=members)
    return lock(marked).values_list(*CHILD, HAS_OTHERS, "in_class")


def lock_with_records(
    meeting: Meeting, named: set[uuid.UUID], struck: set[uuid.UUID]
) -> list[Child]:
    """The same with all records of each child."""
    locked = _lock_with_records(meeting, named, struck)
    children = with_records([child for child in locked if child.in_class])
    if _changed_meanwhile(locked, children, named, struck):
        # Records may have been merged or parted while their rows were waited for: PostgreSQL then
        # reads a row anew, but not the tables by which it was chosen.
        locked = _lock_with_records(meeting, named, struck)
        children = with_records([child for child in locked if child.in_class])
    return children


def _lock_with_records(
    meeting: Meeting, named: set[uuid.UUID], struck: set[uuid.UUID]
) -> list[Any]:
    members = belonged_or_belongs(meeting.group_id, *_days(meeting))
    theirs = Attempt.objects.filter(pk__in=struck).values(root=root_of("child"))
    asked = roots_of(Child.objects.filter(uuid__in=named))
    wanted = members | Q(pk__in=theirs) if struck else members & Q(pk__in=asked)
    return list(lock(Child.objects.filter(wanted).annotate(in_class=members)))


def _changed_meanwhile(
    locked: Sequence[Child],
    children: Sequence[Child],
    named: set[uuid.UUID],
    struck: set[uuid.UUID],
) -> bool:
    """Whether a child that is named, or whose turn is struck, is another's record by now, or its
    own again."""
    if any(child.merged_into_id for child in locked) or not named <= {c.uuid for c in children}:
        return True
    theirs = Attempt.objects.filter(pk__in=struck).values_list(root_of("child"), flat=True)
    return bool(struck) and not set(theirs) <= {child.pk for child in locked}
