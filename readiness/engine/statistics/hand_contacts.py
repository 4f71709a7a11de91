"""Landings on the hands: this week against what the child is used to, as a caution.

docs/hand-contacts.md says what is, and what is not, known about such ratios.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from readiness.engine.ladder import Drill
from readiness.engine.tallies import Tally

WEEK = datetime.timedelta(days=7)
FOUR_WEEKS = datetime.timedelta(days=28)
# From here on the caution is shown: half as much again as usual, and not on a handful of
# landings (practice; no published limit holds for children on their hands).
MUCH_MORE = 1.5
FEWEST = 20
# Of a child who grows fast (practice).
HALF_WHILE_GROWING = 0.5

Code = Literal["none-this-week", "no-usual-yet", "back-after-weeks", "as-usual", "much-more"]


@dataclass(frozen=True)
class Landings:
    """Times both hands took the body's weight with an impact, on one day."""

    day: datetime.date
    count: float


@dataclass(frozen=True)
class HandContacts:
    """``week``: landings in the last 7 days. usual: a week's worth of the last 28 days, or
    None while the record is younger than that. ratio: week over usual, or over the
    share of it that was asked for.

    code: much-more and back-after-weeks (nothing in the three weeks before) ask for a caution
    when there are at least 20 landings this week; the others ask for nothing.
    """

    code: Code
    week: float
    usual: float | None = None
    ratio: float | None = None

    @property
    def caution(self) -> bool:
        return self.code in ("much-more", "back-after-weeks") and self.week >= FEWEST


def landings(tallies: Iterable[Tally], drills: Mapping[str, Drill]) -> list[Landings]:
    """The landings of one child's tallies, one a day, oldest first.

    Drills that count repetitions land so many times a rep, all others so many times a turn;
    a turn that was not clean has landed as well. Drills no longer in the ladder count nothing.
    """
    by_day: dict[datetime.date, float] = {}
    for tally in tallies:
        drill = drills.get(tally.drill)
        if drill is not None and drill.landing:
            times = tally.total if drill.measure == "reps" else tally.turns
            by_day[tally.day] = by_day.get(tally.day, 0) + drill.landing * times
    return [Landings(day, by_day[day]) for day in sorted(by_day)]


def hand_contacts(
    days: Iterable[Landings], today: datetime.date, share: float = 1.0
) -> HandContacts:
    """Read the landings on ``today``; days after it do not count. ``share``: of the usual amount,
    what this week is compared with.

    The windows are 7 and 28 dates with today the last, so that a weekly class falls once in
    the week and four times in the four weeks: the same every week gives a ratio of 1.
    """
    known = [landed for landed in days if landed.day <= today and landed.count]
    week = sum(landed.count for landed in known if today - landed.day < WEEK)
    month = sum(landed.count for landed in known if today - landed.day < FOUR_WEEKS)
    if not week:
        return HandContacts("none-this-week", 0, month / 4 if month else None)
    first = min(landed.day for landed in known)
    if today - first < FOUR_WEEKS - WEEK:
        return HandContacts("no-usual-yet", week)
    usual = month / 4
    ratio = week / (usual * share)
    if month == week:
        return HandContacts("back-after-weeks", week, usual, ratio)
    return HandContacts("much-more" if ratio >= MUCH_MORE else "as-usual", week, usual, ratio)
