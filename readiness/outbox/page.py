"""What became of a file from a tablet, and of lines that were refused, for their pages."""

import datetime
import zoneinfo
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.functional import Promise as Lazy

from progression.models import RejectedLine
from readiness.outbox.words import REASONS, UNREADABLE
from studio.models import Meeting, Staff
from studio.people.told_apart import name_classes

MOST_SHOWN = 200


@dataclass(frozen=True)
class MeetingRow:
    """A meeting, how many lines of it were stored or here already, and why others were not."""

    meeting: Meeting
    kept: int
    had: int
    aside: int
    reasons: list[tuple[Lazy, int]]


@dataclass(frozen=True)
class FileResult:
    rows: list[MeetingRow]
    elsewhere: int
    other_server: int


@dataclass(frozen=True)
class RefusedRow:
    """A refused line: when it came, by the clock of its hall, of which meeting, and why."""

    came: datetime.datetime
    meeting: Meeting
    sender: Staff
    reason: Lazy


def refused_rows(meetings: QuerySet[Meeting]) -> tuple[list[RefusedRow], int]:
    """The newest refused lines of these meetings, and how many older ones there are."""
    # Each line's meeting is looked up: of meetings there are more every year.
    lines = RejectedLine.objects.filter(Exists(meetings.filter(pk=OuterRef("meeting"))))
    shown = lines.select_related("meeting__group__location", "sender")
    rows = [
        RefusedRow(
            _local(line.received_at, line.meeting),
            line.meeting,
            line.sender,
            REASONS.get(line.code, UNREADABLE),
        )
        for line in shown.order_by("-received_at", "-pk")[:MOST_SHOWN]
        if line.meeting is not None
    ]
    name_classes(row.meeting.group for row in rows)
    return rows, lines.count() - len(rows)


def _local(moment: datetime.datetime, meeting: Meeting) -> datetime.datetime:
    """By the clock on the wall there, which a template does not turn once more."""
    zone = zoneinfo.ZoneInfo(meeting.group.location.zone)
    return moment.astimezone(zone).replace(tzinfo=None)


def file_result(taken: Mapping[str, Any], meetings: QuerySet[Meeting]) -> FileResult:
    """``taken``: FileTaken as JSON. Meetings that are no longer visible are left out."""
    counts = {row["meeting"]: row for row in taken["meetings"]}
    visible = meetings.filter(uuid__in=list(counts)).select_related("group__location")
    rows = [
        _meeting_row(meeting, counts[str(meeting.uuid)])
        for meeting in visible.order_by("date", "starts_at", "pk")
    ]
    name_classes(row.meeting.group for row in rows)
    return FileResult(rows, taken["elsewhere"], taken.get("other_server", 0))


def _meeting_row(meeting: Meeting, counts: Mapping[str, Any]) -> MeetingRow:
    reasons: Counter[Lazy] = Counter()
    for code, n in counts["aside"].items():
        reasons[REASONS.get(code, UNREADABLE)] += n
    return MeetingRow(
        meeting, counts["kept"], counts["had"], reasons.total(), list(reasons.items())
    )
