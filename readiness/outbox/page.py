"""What became of a file from a tablet, and of lines that were refused, for their pages."""

import datetime
import uuid
import zoneinfo
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _

from progression.log.line_refusals import LineRefused, read_moment
from progression.models import LineResolution, RejectedLine
from readiness.outbox.resolving import content_of
from readiness.outbox.words import REASONS, UNREADABLE, line_text
from readiness.record.ladders import Ladders
from readiness.words.names import Names
from studio import access
from studio.models import Child, Meeting, Staff
from studio.people.class_lists import belonged_or_belongs
from studio.people.told_apart import full_name, name_classes

MOST_SHOWN = 200
# A class of the day, and its children.
Place = tuple[Meeting, list[Child]]


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
    """A refused line: when it came, by the clock of its hall, of which meeting, why, and what a
    director made of it."""

    line: RejectedLine
    came: datetime.datetime
    meeting: Meeting | None
    sender: Staff
    reason: Lazy
    resolution: LineResolution | None


@dataclass(frozen=True)
class LineShown:
    """The same with what was sent, in words, by the names that this person may see."""

    row: RefusedRow
    what: str
    author: str


def visible_lines(staff: Staff, today: datetime.date) -> QuerySet[RejectedLine]:
    """Refused lines of the meetings that one sees; of no meeting here, one's colleagues'."""
    # Each line's meeting is looked up: of meetings there are more every year.
    theirs = Exists(access.visible_meetings(staff, today).filter(pk=OuterRef("meeting")))
    of_none = Q(meeting=None, sender__in=access.visible_colleagues(staff).values("pk"))
    return RejectedLine.objects.filter(theirs | of_none)


def refused_rows(lines: QuerySet[RejectedLine]) -> tuple[list[RefusedRow], int]:
    """Those that nobody has resolved, then the others, newest first; how many more there are."""
    about = "meeting__group__location", "sender", "resolution__by"
    in_order = lines.select_related(*about).order_by(
        F("resolution").asc(nulls_first=True), "-received_at", "-pk"
    )
    rows = [_row(line) for line in in_order[:MOST_SHOWN]]
    name_classes(row.meeting.group for row in rows if row.meeting)
    return rows, lines.count() - len(rows)


def _row(line: RejectedLine) -> RefusedRow:
    reason = REASONS.get(line.code, UNREADABLE)
    resolution = getattr(line, "resolution", None)
    came = _local(line.received_at, line.meeting) if line.meeting else line.received_at
    return RefusedRow(line, came, line.meeting, line.sender, reason, resolution)


def line_shown(line: RejectedLine, staff: Staff, today: datetime.date) -> LineShown:
    content, row = content_of(line), _row(line)
    if row.meeting:
        name_classes([row.meeting.group])
    child = access.visible_children(staff, today).filter(uuid=_id_in(content, "child")).first()
    author = access.visible_colleagues(staff).filter(uuid=_id_in(content, "by")).first()
    name = full_name(child) if child else _("a child whom you do not see")
    names = Names(name, Ladders().named_on(today), today)
    return LineShown(row, line_text(names, content), (author or line.sender).called)


def places_for(line: RejectedLine, staff: Staff, today: datetime.date) -> list[Place]:
    """The classes of the line's day that one sees, each with its children."""
    meetings = access.visible_meetings(staff, today).filter(date=_day_of(line))
    found = list(meetings.select_related("group__location").order_by("starts_at", "pk"))
    name_classes(meeting.group for meeting in found)
    places = []
    for meeting in found:
        of_class = belonged_or_belongs(meeting.group_id, meeting.date, meeting.date)
        children = Child.objects.filter(of_class).order_by("search_key", "pk")
        places.append((meeting, list(children)))
    return places


def _day_of(line: RejectedLine) -> datetime.date:
    if line.meeting:
        return line.meeting.date
    try:
        return read_moment(content_of(line).get("at")).date()
    except LineRefused:
        return line.received_at.date()


def _id_in(content: Mapping[str, Any], name: str) -> uuid.UUID:
    """That nobody has where the content has none."""
    try:
        return uuid.UUID(content[name])
    except (KeyError, TypeError, ValueError, AttributeError):
        return uuid.UUID(int=0)


def _local(moment: datetime.datetime, meeting: Meeting) -> datetime.datetime:
    """By the clock on the wall there, which a template does not turn once more."""
    zone = zoneinfo.ZoneInfo(meeting.hall.zone)
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
