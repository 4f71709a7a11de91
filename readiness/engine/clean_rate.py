"""How sure the record is that a child is clean often enough.

The chance, given the record, that the true clean rate is at least ``rate``: a Beta
posterior from a uniform prior (identity with the binomial: Abramowitz & Stegun 26.5.24),
with the turns of one day weighted by the design effect of clustered observations
1 + (n - 1)·rho (Kish, *Survey Sampling*, 1965) and old evidence discounted by a factor per
unit of time (West & Harrison, *Bayesian Forecasting and Dynamic Models*, 1997).
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, Protocol

from scipy.special import betainc

DayTurns = tuple[datetime.date, int, int]

MOST_TURNS_A_DAY = 15
MOST_DAYS_AHEAD = 12
# Sureness is compared after rounding, so that the tablet and the server agree.
DECIMALS = 6
STORED_DECIMALS = 9


class Rule(Protocol):
    """The numbers of a clean gate; see ladder.CleanRule."""

    @property
    def rate(self) -> float: ...
    @property
    def certainty(self) -> float: ...
    @property
    def days(self) -> int: ...
    @property
    def clean(self) -> int: ...
    @property
    def within(self) -> int: ...
    @property
    def fresh(self) -> int: ...


@dataclass(frozen=True)
class Decay:
    """How evidence fades: by half with so many of the child's own later days, and with so
    many days of the calendar; and how far turns of one day hang together (0 to 1)."""

    days: float = 8
    time: float = 84
    day_correlation: float = 0.1


@dataclass(frozen=True)
class DecayedCounts:
    """Days of the past summed up: clean and missed turns by weight, as they stood on ``last``,
    the latest of those days, before any later one.

    Both halvings are factors, so that sums fade as their terms do: what has been summed up
    once is read on any later day in constant time.
    """

    clean: float
    missed: float
    last: datetime.date


def decayed_counts(
    days: Sequence[DayTurns], decay: Decay, before: DecayedCounts | None = None
) -> DecayedCounts | None:
    """One (day, turns, clean) a day, oldest first, and what was summed up before, in one sum."""
    if not days:
        return before
    last = days[-1][0]
    a, b = pseudo_counts(days, last, decay, before)
    return DecayedCounts(a - 1, b - 1, last)


def sureness(
    days: Iterable[DayTurns],
    today: datetime.date,
    rate: float,
    memory_days: float = 8,
    memory_time: float = 84,
    day_correlation: float = 0.1,
    before: DecayedCounts | None = None,
) -> float:
    """The chance (0 to 1) that the true clean rate is at least ``rate``, read on ``today``.

    ``days`` holds (day, turns, clean) in any order; triples of one day are added, days
    after ``today`` are ignored; ``before`` stands for days before all of them. Raises
    ValueError for a rate outside 0 to 1, or for a day with fewer turns than clean turns.
    """
    if not 0 < rate < 1:
        raise ValueError(f"rate must lie between 0 and 1, not {rate!r}")
    decay = Decay(memory_days, memory_time, day_correlation)
    a, b = pseudo_counts(by_day(days, today), today, decay, before)
    return float(betainc(b, a, 1 - rate))


def lately(
    days: Iterable[DayTurns],
    today: datetime.date,
    rate: float,
    memory_days: float = 2,
    memory_time: float = 84,
    day_correlation: float = 0.1,
    before: DecayedCounts | None = None,
) -> float:
    """Sureness with a short memory: whether a child is still steady."""
    return sureness(days, today, rate, memory_days, memory_time, day_correlation, before)


def pseudo_counts(
    days: Sequence[DayTurns],
    today: datetime.date,
    decay: Decay,
    before: DecayedCounts | None = None,
) -> tuple[float, float]:
    """a and b of the Beta posterior, from one (day, turns, clean) a day, oldest first, and from
    what was summed up of days before them."""
    a = b = 1.0
    for later_days, (day, turns, clean) in enumerate(reversed(days)):
        age = (today - day).days
        fade = 2.0 ** (-later_days / decay.days - age / decay.time)
        weight = fade / (1 + (turns - 1) * decay.day_correlation)
        a += clean * weight
        b += (turns - clean) * weight
    if before is not None:
        age = (today - before.last).days
        fade = 2.0 ** (-len(days) / decay.days - age / decay.time)
        a += before.clean * fade
        b += before.missed * fade
    return a, b


def decayed_sums(
    days: Sequence[DayTurns], today: datetime.date, decay: Decay, before: DecayedCounts | None
) -> list[float]:
    """Clean and missed turns by weight, as a tablet stores them: rounded far under what could
    show in the sixth decimal of sureness."""
    a, b = pseudo_counts(days, today, decay, before)
    return [round(a - 1, STORED_DECIMALS), round(b - 1, STORED_DECIMALS)]


def by_day(days: Iterable[DayTurns], today: datetime.date) -> list[DayTurns]:
    turns: dict[datetime.date, int] = defaultdict(int)
    clean: dict[datetime.date, int] = defaultdict(int)
    for day, n, k in days:
        if not 0 <= k <= n:
            raise ValueError(f"{k!r} clean of {n!r} turns on {day!r}")
        if day <= today and n:
            turns[day] += n
            clean[day] += k
    return [(day, turns[day], clean[day]) for day in sorted(turns)]


class CleanReading(NamedTuple):
    """One reading of a clean rule. ``progress`` is 0 to 1, and 1 if and only if met."""

    sureness: float
    turns: int
    clean_days: int
    clean_turns: int
    newest: datetime.date | None
    met: bool
    progress: float


def read_clean(
    days: Iterable[DayTurns],
    today: datetime.date,
    gate: Rule,
    decay: Decay | None = None,
    before: DecayedCounts | None = None,
) -> CleanReading:
    """Read a clean rule on ``today``. Only clean turns count for days, number and freshness.

    ``before`` stands for days before all of ``days``, too old to count for those three.
    """
    decay = decay or Decay()
    counted = by_day(days, today)
    a, b = pseudo_counts(counted, today, decay, before)
    sure = round(float(betainc(b, a, 1 - gate.rate)), DECIMALS)
    recent = [(d, k) for d, _, k in counted if k and (today - d).days <= gate.within]
    turns = sum(n for d, n, _ in counted if (today - d).days <= gate.within)
    clean_days, clean_turns = len(recent), sum(k for _, k in recent)
    newest = recent[-1][0] if recent else None
    fresh = newest is not None and (today - newest).days <= gate.fresh
    enough = clean_days >= gate.days and clean_turns >= gate.clean
    met = sure >= gate.certainty and enough and fresh
    share = min(_sure_share(sure, gate), clean_days / gate.days, clean_turns / gate.clean)
    progress = 1.0 if met else max(0.0, min(0.99, share))
    return CleanReading(sure, turns, clean_days, clean_turns, newest, met, progress)


def _sure_share(sure: float, gate: Rule) -> float:
    """How far sureness has come from knowing nothing (1 - rate) to the certainty asked."""
    start = 1 - gate.rate
    return (sure - start) / (gate.certainty - start)


def clean_turns_to_open(
    days: Iterable[DayTurns],
    today: datetime.date,
    gate: Rule,
    next_days: Iterable[datetime.date],
    decay: Decay | None = None,
    before: DecayedCounts | None = None,
) -> tuple[int, int] | None:
    """The fewest (turns, days) of clean turns over the coming days that meet the gate.

    First the smallest number of days, then the smallest number of clean turns, spread over
    the first of ``next_days`` as evenly as can be, earlier days first, at most 15 a day, so
    that the gate is met on the last of them. (0, 0) if it is met today; None if there is no
    such number. Days before ``today`` are ignored, and those after the first 12. ``before`` is
    as in read_clean.
    """
    known = [entry for entry in days if entry[0] <= today]
    if read_clean(known, today, gate, decay, before).met:
        return 0, 0
    coming = sorted({day for day in next_days if day >= today})[:MOST_DAYS_AHEAD]
    for count in range(1, len(coming) + 1):
        turns = _fewest_turns(known, gate, coming[:count], decay, before)
        if turns is not None:
            return turns, count
    return None


def good_days_to_open(
    days: Iterable[DayTurns],
    today: datetime.date,
    gate: Rule,
    next_days: Iterable[datetime.date],
    turns: int,
    decay: Decay | None = None,
    before: DecayedCounts | None = None,
) -> int | None:
    """The fewest of the coming days, the next ones, on which so many turns each, all of them clean,
    meet the gate; None if no number of the first 12 does. What is left out: as above."""
    known = [entry for entry in days if entry[0] <= today]
    coming = sorted({day for day in next_days if day >= today})[:MOST_DAYS_AHEAD]
    for count in range(1, len(coming) + 1):
        good = [(day, turns, turns) for day in coming[:count]]
        if read_clean([*known, *good], coming[count - 1], gate, decay, before).met:
            return count
    return None


def _fewest_turns(
    known: list[DayTurns],
    gate: Rule,
    coming: list[datetime.date],
    decay: Decay | None,
    before: DecayedCounts | None,
) -> int | None:
    """Bisection: over fixed days one more clean turn never lowers sureness."""

    def met(turns: int) -> bool:
        days = [*known, *_spread(turns, coming)]
        return read_clean(days, coming[-1], gate, decay, before).met

    low, high = len(coming), MOST_TURNS_A_DAY * len(coming)
    if not met(high):
        return None
    while low < high:
        middle = (low + high) // 2
        if met(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _spread(turns: int, coming: list[datetime.date]) -> list[DayTurns]:
    share, over = divmod(turns, len(coming))
    shares = [share + (at < over) for at in range(len(coming))]
    return [(day, clean, clean) for day, clean in zip(coming, shares, strict=True)]
