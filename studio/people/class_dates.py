"""The real dates of classes: weekly days, moves from a date on, single evenings that are moved or
cancelled, and the holidays of halls.

Shared: used by tonight, the classes' pages, and what a gate promises for the next class days.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Q

from studio import access
from studio.models import ClassGroup, ClassMove, Holiday, Location, Meeting, Staff

ONE_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Evening:
    """One date of a class. ``state``: "" where it meets; "cancelled", "holiday", or "moved" to the
    date of ``meeting``, which then is an evening of its own. ``holiday``: its name."""

    group: ClassGroup
    hall: Location
    day: datetime.date
    starts_at: datetime.time
    state: str = ""
    holiday: str = ""
    meeting: Meeting | None = None

    @property
    def moved_here(self) -> bool:
        """Planned for another day or time."""
        return self.meeting is not None and is_moved(self.meeting) and self.state != "moved"


def is_moved(meeting: Meeting) -> bool:
    planned = meeting.planned_date, meeting.planned_start
    return meeting.planned_date is not None and planned != (meeting.date, meeting.starts_at)


def evenings(
    groups: Sequence[ClassGroup], first: datetime.date, last: datetime.date
) -> list[Evening]:
    """Every date of these classes from ``first`` to ``last``, in order; in three queries."""
    moves = _moves(groups)
    meetings = _meetings(groups, first, last)
    halls = {group.location_id for group in groups}
    halls |= {move.location_id for each in moves.values() for move in each}
    holidays = _holidays(halls, first, last)
    found = []
    for group in groups:
        own = meetings[group.pk]
        for day in _days(first, last):
            when = _plan_on(group, moves[group.pk], day)
            if when.weekday == day.weekday():
                found.append(_planned(group, when, day, own, holidays))
        found += [
            Evening(
                group, m.location or group.location, m.date, m.starts_at, _cancelled(m), meeting=m
            )
            for m in own
            if is_moved(m) and first <= m.date <= last and not _same_day(m)
        ]
    return sorted(found, key=lambda each: (each.day, each.starts_at, each.group.pk))


def evenings_today(staff: Staff, now: datetime.datetime) -> list[Evening]:
    """The classes that meet today, of those this person may see, in each hall's own day."""
    groups = list(access.visible_classes(staff).select_related("location").order_by("pk"))
    if not groups:
        return []
    days = {group.location_id: group.location.day_of(now) for group in groups}
    found = evenings(groups, min(days.values()), max(days.values()))
    return [each for each in found if not each.state and each.day == days[each.group.location_id]]


def coming_days(
    groups: Sequence[ClassGroup], today: datetime.date, most: int
) -> list[datetime.date]:
    """Today and the next days on which one of these classes meets, at most so many."""
    later = evenings(groups, today + ONE_DAY, today + 7 * most * ONE_DAY) if groups else []
    return [today, *sorted({each.day for each in later if not each.state})][:most]


def _planned(
    group: ClassGroup,
    when: "ClassGroup | ClassMove",
    day: datetime.date,
    own: Iterable[Meeting],
    holidays: Iterable[Holiday],
) -> Evening:
    """The evening that the week's plan has on this day."""
    about = group, when.location, day
    of_day = [m for m in own if (m.planned_date or m.date) == day]
    here = [m for m in of_day if m.date == day]
    if here:
        meeting = min(here, key=lambda m: (m.cancelled, m.pk))
        if meeting.cancelled or meeting.location or is_moved(meeting):
            hall, state = meeting.location or when.location, _cancelled(meeting)
            return Evening(group, hall, day, meeting.starts_at, state, meeting=meeting)
    for each in holidays:
        if each.location_id == when.location_id and each.first_day <= day <= each.last_day:
            return Evening(*about, when.starts_at, "holiday", each.name)
    if here:
        return Evening(*about, here[0].starts_at, meeting=here[0])
    if of_day:
        return Evening(*about, when.starts_at, "moved", meeting=of_day[0])
    return Evening(*about, when.starts_at)


def _cancelled(meeting: Meeting) -> str:
    return "cancelled" if meeting.cancelled else ""


def _same_day(meeting: Meeting) -> bool:
    return meeting.planned_date == meeting.date


def _plan_on(
    group: ClassGroup, moves: Sequence[ClassMove], day: datetime.date
) -> "ClassGroup | ClassMove":
    """The latest move that counts on this day, or the class's own row."""
    return next((move for move in reversed(moves) if move.from_day <= day), group)


def _days(first: datetime.date, last: datetime.date) -> list[datetime.date]:
    return [first + number * ONE_DAY for number in range((last - first).days + 1)]


def _moves(groups: Iterable[ClassGroup]) -> dict[int, list[ClassMove]]:
    """Those to come; what is done stands in the class's row."""
    moves: dict[int, list[ClassMove]] = defaultdict(list)
    rows = ClassMove.objects.filter(group__in=[group.pk for group in groups], done=False)
    for move in rows.select_related("location").order_by("from_day"):
        moves[move.group_id].append(move)
    return moves


def _meetings(
    groups: Iterable[ClassGroup], first: datetime.date, last: datetime.date
) -> dict[int, list[Meeting]]:
    meetings: dict[int, list[Meeting]] = defaultdict(list)
    window = Q(date__range=(first, last)) | Q(planned_date__range=(first, last))
    rows = Meeting.objects.filter(window, group__in=[group.pk for group in groups])
    for meeting in rows.select_related("location").order_by("date", "starts_at", "pk"):
        meetings[meeting.group_id].append(meeting)
    return meetings


def _holidays(halls: Iterable[int], first: datetime.date, last: datetime.date) -> list[Holiday]:
    rows = Holiday.objects.filter(location__in=halls, last_day__gte=first, first_day__lte=last)
    return list(rows.order_by("first_day", "pk"))
