"""What is told and given after two invented knocks on the head: one way back is half gone, one is
over. The days keep to the rule of readiness/engine/head_steps.py."""

import datetime
from dataclasses import dataclass
from typing import Literal

Kind = Literal["head-knock", "head-symptom", "head-clearance", "head-step"]
HALF_WAY_FROM = datetime.timedelta(days=9)
OVER_FROM = datetime.timedelta(weeks=10)
# Of both halls the same day, before any class.
TOLD_AT = datetime.time(14, tzinfo=datetime.UTC)
# Days after the knock, what, and which step.
Days = tuple[tuple[int, Kind, int], ...]
HALF: Days = (
    (0, "head-knock", 0),
    (1, "head-symptom", 0),
    *((2 * n, "head-step", n) for n in (1, 2, 3)),
)
FULL: Days = (
    (0, "head-knock", 0),
    *((2 * n, "head-step", n) for n in (1, 2, 3)),
    (15, "head-clearance", 0),
    (16, "head-step", 4),
    (18, "head-step", 5),
    (22, "head-step", 6),
)


@dataclass(frozen=True)
class HeadTold:
    """Told or given on the day that it is of. step: of the way back, for "head-step"."""

    kind: Kind
    at: datetime.datetime
    step: int = 0

    @property
    def day(self) -> datetime.date:
        return self.at.date()


def half_way(today: datetime.date) -> tuple[HeadTold, ...]:
    """A symptom on the day after, and three steps since."""
    return _told(today - HALF_WAY_FROM, HALF)


def full_way(today: datetime.date) -> tuple[HeadTold, ...]:
    """All six steps, with a clearance before the fourth."""
    return _told(today - OVER_FROM, FULL)


def _told(knocked: datetime.date, days: Days) -> tuple[HeadTold, ...]:
    told = []
    for after, kind, step in days:
        day = knocked + datetime.timedelta(days=after)
        told.append(HeadTold(kind, datetime.datetime.combine(day, TOLD_AT), step))
    return tuple(told)
