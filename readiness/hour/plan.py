"""An evidence hour planned, and the turns that its graders write down.

Each child does six turns: three before the first grader, three before the second, so that the two
see as many. A grader writes only what they saw themselves.
"""

import datetime
import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import SystemRandom

from django.db import transaction
from django.db.models import Q, QuerySet

from progression.log.line_ids import uuid7
from progression.log.lines import SCHEMA
from progression.models import Attempt, Drill, Surface
from readiness.hour.candidates import TURNS, Candidate
from readiness.models import HourChild
from readiness.record.intake import ACCEPTED, take_lines
from studio import access
from studio.models import Child, ClassGroup, Meeting, MeetingVisit, Staff
from studio.people.class_lists import belonged
from studio.people.meetings import meeting_on

log = logging.getLogger("ladder.hour")

TURNS_EACH = TURNS // 2
DEVICE = "evidence hour"
# As what was seen: no fault of the drill's list, but the spotter's hands.
CAUGHT = "caught"


@dataclass(frozen=True)
class Seen:
    """A turn as a grader saw it; ``fault``: its key, CAUGHT, or empty."""

    clean: bool
    fault: str = ""


class NotTaken(Exception):
    """Nothing was logged; ``code`` says why a line was refused."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


@transaction.atomic
def plan_hour(
    group: ClassGroup,
    day: datetime.date,
    chosen: Sequence[Candidate],
    graders: tuple[Staff, Staff],
    by: Staff,
    now: datetime.datetime,
) -> Meeting:
    """On an evening of a class; a child of another class is its visitor then."""
    meeting = meeting_on(group, day)
    here = set(Child.objects.filter(belonged(group.pk, day)).values_list("pk", flat=True))
    for each in chosen:
        if each.child.pk not in here:
            about = {"makes_up": False, "by": by}
            MeetingVisit.objects.get_or_create(meeting=meeting, child=each.child, defaults=about)
        HourChild.objects.create(
            meeting=meeting,
            child=each.child,
            drill=Drill.objects.get(key=each.drill),
            surface=Surface.objects.get(key=each.surface),
            support=each.support,
            first=graders[0],
            second=graders[1],
            by=by,
            at=now,
        )
    log.info("hour planned meeting=%s children=%d by=%s", meeting.uuid, len(chosen), by.uuid)
    return meeting


def hours_of(staff: Staff, since: datetime.date) -> QuerySet[HourChild]:
    """The children of hours from that day on that this person grades, or may plan for."""
    mine = Q(first=staff) | Q(second=staff)
    if access.may_plan(staff):
        mine |= Q(meeting__group__in=access.visible_classes(staff))
    rows = HourChild.objects.filter(mine, meeting__date__gte=since)
    related = ("meeting__group__location", "child__merged_into", "drill", "surface")
    return rows.select_related(*related, "first", "second").order_by("meeting__date", "pk")


def graded_meetings(staff: Staff, since: datetime.date) -> list[Meeting]:
    """Whose hours this person grades, on that day or later."""
    mine = Q(first=staff) | Q(second=staff)
    rows = HourChild.objects.filter(mine, meeting__date__gte=since)
    meetings = Meeting.objects.filter(pk__in=rows.values("meeting")).select_related("group")
    return list(meetings.order_by("date", "pk"))


def grades(staff: Staff, since: datetime.date) -> bool:
    """Whether this person grades an hour on that day or later: then no chance is shown them."""
    mine = Q(first=staff) | Q(second=staff)
    return HourChild.objects.filter(mine, meeting__date__gte=since).exists()


def turns_left(rows: Sequence[HourChild], grader: Staff) -> dict[int, int]:
    """By row how many of this grader's turns are not in the log yet."""
    turns = Attempt.objects.filter(
        author=grader, meeting__in={row.meeting_id for row in rows}
    ).unstruck()
    done = list(turns.values_list("child__merged_into", "child", "drill"))
    logged = [(root or child, drill) for root, child, drill in done]
    return {
        row.pk: max(0, TURNS_EACH - logged.count((row.child.root, row.drill_id))) for row in rows
    }


def write_down(
    rows: Mapping[HourChild, Sequence[Seen]], grader: Staff, now: datetime.datetime
) -> int:
    """The turns that a grader saw, in their order; all of them, or NotTaken. How many."""
    at = now - datetime.timedelta(seconds=sum(len(seen) for seen in rows.values()))
    rng, lines = SystemRandom(), []
    for row, turns in rows.items():
        for seen in turns:
            at += datetime.timedelta(seconds=1)
            lines.append(_line(row, seen, at, rng))
    meeting = next(iter(rows)).meeting
    with transaction.atomic():
        for answer in take_lines(meeting, grader, DEVICE, now, lines, SCHEMA, now):
            if answer.answer != ACCEPTED:
                raise NotTaken(answer.code)
    return len(lines)


def _line(
    row: HourChild, seen: Seen, at: datetime.datetime, rng: SystemRandom
) -> dict[str, object]:
    return {
        "kind": "turn",
        "id": str(uuid7(at, rng)),
        "at": at.isoformat(),
        "child": str(row.child.uuid),
        "drill": row.drill.key,
        "surface": row.surface.key,
        "support": row.support,
        "clean": seen.clean,
        "faults": [seen.fault] if seen.fault not in ("", CAUGHT) else [],
        "caught": seen.fault == CAUGHT,
    }
