"""What became of a file from a tablet, for the page."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils.functional import Promise as Lazy

from readiness.outbox.words import REASONS, UNREADABLE
from studio.models import Meeting
from studio.people.told_apart import name_classes


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


def file_result(taken: Mapping[str, Any], meetings: QuerySet[Meeting]) -> FileResult:
    """``taken``: FileTaken as JSON. Meetings that are no longer visible are left out."""
    counts = {row["meeting"]: row for row in taken["meetings"]}
    visible = meetings.filter(uuid__in=list(counts)).select_related("group__location")
    rows = [
        _meeting_row(meeting, counts[str(meeting.uuid)])
        for meeting in visible.order_by("date", "starts_at", "pk")
    ]
    name_classes(row.meeting.group for row in rows)
    return FileResult(rows, taken["elsewhere"])


def _meeting_row(meeting: Meeting, counts: Mapping[str, Any]) -> MeetingRow:
    reasons: Counter[Lazy] = Counter()
    for code, n in counts["aside"].items():
        reasons[REASONS.get(code, UNREADABLE)] += n
    return MeetingRow(
        meeting, counts["kept"], counts["had"], reasons.total(), list(reasons.items())
    )
