"""When a rotation is, by the clock of the hall, if class begins on time."""

import datetime

from studio.models import Meeting

# Minutes before the first rotation (common practice, no source).
WARM_UP = 12


def begins(meeting: Meeting, rotation: int, minutes: int) -> datetime.datetime:
    """Without a zone; ``minutes``: of one rotation."""
    start = datetime.datetime.combine(meeting.date, meeting.starts_at)
    return start + datetime.timedelta(minutes=WARM_UP + rotation * minutes)


def overlap(one: Meeting, other: Meeting) -> bool:
    """Whether two classes of a day are at it at the same time."""
    (start, end), (begin, finish) = _span(one), _span(other)
    return start < finish and begin < end


def _span(meeting: Meeting) -> tuple[datetime.datetime, datetime.datetime]:
    start = datetime.datetime.combine(meeting.date, meeting.starts_at)
    return start, start + datetime.timedelta(minutes=meeting.group.minutes)
