"""A second grade of a turn: which turns wait for one, and when it is refused.

Shared: used by the page and by its tests.
"""

import datetime
import uuid
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from progression.models import Attempt
from readiness.floor.pack_children import children_of
from readiness.models import Look, SecondGrade
from studio.models import Meeting, Staff
from studio.people.records import records_of, root_of

# So long after the turn both have the same turn before their eyes (practice).
WITHIN = datetime.timedelta(seconds=60)


class SecondGradeRefusedError(Exception):
    """code: too-late, own, seen (the first grade was shown), twice, no-turn."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


@dataclass(frozen=True)
class Pair:
    """The two grades of a turn."""

    first: int
    second: int


def waiting(
    meeting: Meeting, graded_drills: list[str], staff: Staff, now: datetime.datetime
) -> "QuerySet[Attempt]":
    """The graded turns of the last minute of this class that the others graded and this one has
    not, nor seen the grade of; the newest first."""
    children = list(records_of([child.pk for child in children_of(meeting)]))
    turns = _of_class(meeting, children, graded_drills)
    turns = turns.filter(done_at__gt=now - WITHIN, done_at__lte=now)
    turns = turns.exclude(Q(author=staff) | Q(sender=staff))
    given = SecondGrade.objects.filter(attempt=OuterRef("pk"), by=staff)
    looked = Look.objects.filter(
        staff=staff, child=OuterRef("root"), at__gte=OuterRef("received_at")
    )
    turns = turns.annotate(root=root_of("child")).filter(~Exists(given), ~Exists(looked))
    return turns.order_by("-done_at", "pk")


def _of_class(
    meeting: Meeting, children: list[int], graded_drills: list[str]
) -> "QuerySet[Attempt]":
    turns = Attempt.objects.filter(
        child__in=children, day=meeting.date, meeting=meeting, drill__key__in=graded_drills
    )
    return turns.filter(graded=True).unstruck().select_related("child", "drill")


def give_second(turn: Attempt, value: int, by: Staff, now: datetime.datetime) -> Pair:
    """Keep a second grade of a turn of this class and answer with both. SecondGradeRefusedError
    keeps nothing: after a minute, for one's own turn, once the first grade was shown."""
    if by.pk in (turn.author_id, turn.sender_id):
        raise SecondGradeRefusedError("own")
    if not turn.done_at <= now < turn.done_at + WITHIN:
        raise SecondGradeRefusedError("too-late")
    looked = Look.objects.filter(staff=by, child__in=turn.child.records, at__gte=turn.received_at)
    if looked.exists():
        raise SecondGradeRefusedError("seen")
    try:
        with transaction.atomic():
            SecondGrade.objects.create(attempt=turn, by=by, value=value, at=now)
    except IntegrityError as error:
        raise SecondGradeRefusedError("twice") from error
    return Pair(int(turn.value or 0), value)


def turn_of(meeting: Meeting, graded_drills: list[str], turn_id: uuid.UUID | None) -> Attempt:
    """A graded turn of this class by its id; SecondGradeRefusedError if there is none."""
    children = list(records_of([child.pk for child in children_of(meeting)]))
    turns = _of_class(meeting, children, graded_drills)
    turn = turns.filter(pk=turn_id).first() if turn_id else None
    if turn is None:
        raise SecondGradeRefusedError("no-turn")
    return turn
