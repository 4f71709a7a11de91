"""What is no turn taken back: what hurts, who fell, who is not here, "no
hands tonight".

Whoever wrote it down takes it back, within the class. A place that pauses at once, as head and neck
do, goes only as the wrong child's, within two minutes and with the right child named; after that a
director lifts the pause.
"""

import datetime
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from progression.log.lines import Here, Hurt, LineContext, NewStrike
from readiness.models import Fell, NoHands, Pain
from studio.models import Attendance

WRONG_CHILD_WITHIN = datetime.timedelta(minutes=2)
# Both on their way to the server, however the tablet's clock was set between them.
ARRIVES_WITHIN = datetime.timedelta(minutes=4)


@dataclass(frozen=True)
class Written:
    """A report that a strike may take back. ``place``: where it hurts, or empty."""

    child: int
    by: int
    meeting: int | None
    at: datetime.datetime
    received_at: datetime.datetime | None
    place: str = ""
    of_anybody: bool = False


def stored_reports(
    struck: Iterable[uuid.UUID], instead: Iterable[uuid.UUID]
) -> dict[uuid.UUID, Written]:
    """Those of these lines that are reports; nothing is asked where there are no such lines."""
    found: dict[uuid.UUID, Written] = {}
    for table in (NoHands, Pain, Fell, Attendance):
        for id_, row in table._default_manager.in_bulk({*struck, *instead}).items():
            about = row.child_id, row.by_id, row.meeting_id, row.at
            received, place = getattr(row, "received_at", None), getattr(row, "place", "")
            found[id_] = Written(*about, received, place, of_anybody=table is NoHands)
    return found


def as_report(line: Hurt | Here, context: LineContext) -> Written:
    """A report of the call that is being read."""
    place = line.place if isinstance(line, Hurt) else ""
    about = line.child.pk, line.by.pk, context.meeting.pk, line.at
    return Written(*about, context.now, place)


def why_report_stays(
    report: Written,
    strike: NewStrike,
    reports: Mapping[uuid.UUID, Written],
    context: LineContext,
) -> str:
    """The code of the refusal, or empty."""
    if report.of_anybody:
        return ""
    if (report.by, report.meeting) != (strike.by.pk, context.meeting.pk):
        return "not-yours"
    if strike.at >= context.day_ends:
        return "too-late"
    if report.place not in context.pausing_places:
        return ""
    right = reports.get(strike.instead) if strike.instead else None
    names_right = right is not None and right.place == report.place and right.child != report.child
    arrived = context.now - (report.received_at or context.now)
    soon = strike.at - report.at <= WRONG_CHILD_WITHIN and arrived <= ARRIVES_WITHIN
    return "" if strike.code == "wrong-child" and names_right and soon else "pause-stays"
