"""Which days the classes meet, who logs there, and at which station everybody begins."""

import datetime
import uuid
import zoneinfo
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from random import Random

from readiness.demo.ids import uuid4
from readiness.demo.names import GROUPS, HALLS, Group

MINUTES = 75
AFTERNOON = datetime.time(16, 30)
EARLIEST = datetime.time(8)
# Holidays as (month, day) to (month, day). None lies in the last ten weeks: a demo that
# begins in August needs its six weeks too.
HOLIDAYS = (((12, 20), (12, 31)), ((1, 1), (1, 5)), ((4, 3), (4, 12)), ((7, 22), (8, 26)))
WEEKS_WITHOUT_HOLIDAYS = 10
STATIONS = (
    "hollow-hold", "arch-hold", "front-support", "log-roll", "name-the-shape", "safe-fall",
    "shrugs-knees", "shrugs-pushup", "swing-jump", "donkey-kicks", "wall-handstand",
    "wall-handstand-half",
)  # fmt: skip


@dataclass(frozen=True)
class Evening:
    """One class on one date. group: its index in GROUPS. main: who coaches and logs;
    helper: who logs the first station."""

    id: uuid.UUID
    group: int
    day: datetime.date
    starts: datetime.datetime
    main: str
    helper: str
    station: str
    surface: str

    @property
    def midnight(self) -> datetime.datetime:
        """The local midnight with which the day begins."""
        zone = zoneinfo.ZoneInfo(HALLS[GROUPS[self.group].hall].zone)
        return datetime.datetime.combine(self.day, datetime.time(), zone)

    @property
    def ends(self) -> datetime.datetime:
        return self.starts + datetime.timedelta(minutes=MINUTES)


def local_day(hall: int, now: datetime.datetime) -> datetime.date:
    return now.astimezone(zoneinfo.ZoneInfo(HALLS[hall].zone)).date()


def starting_time(group: Group, now: datetime.datetime) -> datetime.time:
    """Late afternoon; for a class of today about half an hour ago, if that is daytime."""
    local = now.astimezone(zoneinfo.ZoneInfo(HALLS[group.hall].zone))
    if group.after_today or local.time() >= datetime.time(17) or local.hour < 9:
        return AFTERNOON
    start = local - datetime.timedelta(minutes=25)
    return max(EARLIEST, datetime.time(start.hour, start.minute // 30 * 30))


def evenings(seed: int, now: datetime.datetime, weeks: int) -> Mapping[int, list[Evening]]:
    """Each class's evenings, oldest first; today's is the last of a class that meets today."""
    return {index: list(_of_class(index, seed, now, weeks)) for index in range(len(GROUPS))}


def _of_class(index: int, seed: int, now: datetime.datetime, weeks: int) -> Iterator[Evening]:
    group = GROUPS[index]
    hall = HALLS[group.hall]
    rng = Random(f"{seed} class {group.code}")
    today = local_day(group.hall, now)
    newest = today - datetime.timedelta(days=(7 - group.after_today) % 7)
    holidays_until = today - datetime.timedelta(weeks=WEEKS_WITHOUT_HOLIDAYS)
    zone = zoneinfo.ZoneInfo(hall.zone)
    for week in range(weeks, -1, -1):
        day = newest - datetime.timedelta(weeks=week)
        main = group.lead if rng.random() < 0.62 else group.second
        helper = group.assistant if rng.random() < (0.25 if week > 6 else 0.1) else main
        station, id_ = rng.choice(STATIONS), uuid4(rng)
        if day < holidays_until and on_holiday(day):
            continue
        starts = datetime.datetime.combine(day, starting_time(group, now), zone)
        yield Evening(
            id_, index, day, starts.astimezone(datetime.UTC), main, helper, station, hall.surface
        )


def on_holiday(day: datetime.date) -> bool:
    return any(first <= (day.month, day.day) <= last for first, last in HOLIDAYS)
