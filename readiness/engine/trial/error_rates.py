"""What a gate lets through by luck, and how soon lately sees a real drop.

Simulation, all children and rates at once: a day's clean turns are beta-binomial, so that the
turns of one day hang together as far as the ladder says. All rates share the same random
numbers: the curves are smooth, and the same seed gives the same answer. A child is taken to
come to every class. Every chance is for a horizon in weeks, as a child who is given tries
enough gets through any rule.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaln, btdtria, gammaln

from readiness.engine.clean_rate import DECIMALS, Memory, Rule
from readiness.engine.support import FALL_SHARE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

# A term and a year of classes (practice).
WEEKS = (13, 52)
# The standard error of a chance from so many runs is at most .0158.
RUNS = 1000
CERTAINTY_STEPS = 100
# A steady child before a drop: the rate, and for how many classes (own choice).
SETTLED, SETTLED_CLASSES = 0.92, 12


@dataclass(frozen=True)
class Classes:
    """How a child's classes run: classes a week, turns at the drill in a class, and how far
    the turns of one day hang together (0 to under 1)."""

    a_week: float = 1
    turns: int = 3
    day_correlation: float = 0.1

    def __post_init__(self) -> None:
        if not (0 < self.a_week <= 7 and self.turns >= 1 and 0 <= self.day_correlation < 1):
            raise ValueError(f"no such classes: {self!r}")

    def days(self, weeks: float) -> Ints:
        """The days of the classes in so many weeks, counted from the first."""
        count = int(np.ceil(weeks * self.a_week))
        days = np.floor(np.arange(count) * 7 / self.a_week).astype(np.int64)
        return days[days < 7 * weeks]


@dataclass(frozen=True)
class ChanceCurve:
    """Chances by horizon, then by true clean rate, each with its standard error.

    The error is that of (hits + 1) of (runs + 2), so that it is not 0 where nothing was hit.
    """

    rates: tuple[float, ...]
    weeks: tuple[float, ...]
    chances: tuple[tuple[float, ...], ...]
    errors: tuple[tuple[float, ...], ...]
    runs: int

    @property
    def largest_error(self) -> float:
        return max(error for row in self.errors for error in row)


class SureLevel:
    """Whether sureness, rounded as everywhere, is at least ``level``: exact, and quick.

    Sureness grows with a and falls with b, so between two nodes of b the a that just reaches
    the level lies between those of the nodes. Only points in that strip are worked out. b is
    at least 1 and at most ``most``.
    """

    MARGIN = 1e-4

    def __init__(self, rate: float, level: float, most: float, nodes: int = 512) -> None:
        self._rate, self._level = rate, level
        self._step = np.log(max(most, 1.0) + 1.0) / (nodes - 1)
        self._least = btdtria(1 - level, np.exp(self._step * np.arange(nodes)), rate)
        self._last = nodes - 2

    def reached(self, a: Floats, b: Floats) -> Bools:
        left = np.minimum((np.log(b) / self._step).astype(np.intp), self._last)
        sure: Bools = a > self._least[left + 1] + self.MARGIN
        (strip,) = np.nonzero(~sure & (a > self._least[left] - self.MARGIN))
        exact = np.round(betainc(b[strip], a[strip], 1 - self._rate), DECIMALS)
        sure[strip] = exact >= self._level
        return sure


# --- the days of many children --------------------------------------------------------


def beta_binomial(turns: int, rate: float, correlation: float) -> Floats:
    """The chances of 0 to ``turns`` clean turns on a day of mean ``rate``."""
    clean = np.arange(turns + 1)
    choose = gammaln(turns + 1) - gammaln(clean + 1) - gammaln(turns - clean + 1)
    if rate in (0, 1):
        return np.asarray(clean == rate * turns, dtype=np.float64)
    if correlation == 0:
        logs = choose + clean * np.log(rate) + (turns - clean) * np.log1p(-rate)
    else:
        a = rate * (1 - correlation) / correlation
        b = (1 - rate) * (1 - correlation) / correlation
        logs = choose + betaln(clean + a, turns - clean + b) - betaln(a, b)
    chances: Floats = np.exp(logs)
    chances /= chances.sum()
    return chances


def simulate_clean(
    rates: Sequence[float], classes: Classes, count: int, runs: int, seed: int
) -> Ints:
    """Clean turns of each class: an array of class by rate by run."""
    luck = np.random.default_rng(seed).random((count, runs))
    clean = np.empty((count, len(rates), runs), dtype=np.int64)
    for at, rate in enumerate(rates):
        steps = np.cumsum(beta_binomial(classes.turns, rate, classes.day_correlation))[:-1]
        clean[:, at] = np.searchsorted(steps, luck, side="right")
    return clean


def first_open(
    rule: Rule,
    memory: Memory,
    days: Ints,
    turns: Ints,
    clean: Ints,
    before: tuple[Floats, Floats] | None = None,
) -> Ints:
    """The number of the class at whose end the rule is first met; ``len(days)`` if never.

    ``days`` grow; ``turns`` and ``clean`` have the classes on their first axis and children on
    the others. A child with no turns in a class was not there. The same answer as reading
    each child with clean_rate.read_clean after every class. ``before``: clean and not clean
    turns, already weighted, that count on the first day as if taken just before it.
    """
    turns = np.broadcast_to(turns, clean.shape)
    enough = _enough(rule, days, clean)
    opened = np.full(clean.shape[1:], len(days), dtype=np.int64)
    a, b = (np.array(each) for each in before or np.zeros((2, *clean.shape[1:])))
    level = SureLevel(rule.rate, rule.certainty, _most(memory, turns) + float(b.max(initial=0)))
    for at in range(len(days)):
        _next_class(a, b, memory, days, turns, clean, at)
        ask = np.nonzero(enough[at] & (opened == len(days)))
        met = level.reached(1 + a[ask], 1 + b[ask])
        opened[ask] = np.where(met, at, len(days))
    return opened


def _next_class(
    a: Floats, b: Floats, memory: Memory, days: Ints, turns: Ints, clean: Ints, at: int
) -> None:
    """Move the faded counts, without the prior's ones, from one class to the next, in place."""
    fade = 2.0 ** (-float(days[at] - days[max(at - 1, 0)]) / memory.time)
    faded = np.where(turns[at] > 0, fade * 2.0 ** (-1 / memory.days), fade)
    weight = 1 / (1 + (turns[at] - 1) * memory.day_correlation * (turns[at] > 0))
    a *= faded
    b *= faded
    a += clean[at] * weight
    b += (turns[at] - clean[at]) * weight


def faded_counts(
    memory: Memory, days: Ints, turns: Ints, clean: Ints, classes: int
) -> tuple[Floats, Floats]:
    """Clean and not clean turns of the first so many classes, weighted as on the last of them."""
    a, b = np.zeros(clean.shape[1:]), np.zeros(clean.shape[1:])
    for at in range(classes):
        _next_class(a, b, memory, days, turns, clean, at)
    return a, b


def _most(memory: Memory, turns: Ints) -> float:
    """More than a or b can ever be."""
    most = int(turns.max(initial=1))
    a_day = most / (1 + (most - 1) * memory.day_correlation)
    return float(1 + a_day * np.sum(2.0 ** (-np.arange(len(turns)) / memory.days)))


def _enough(rule: Rule, days: Ints, clean: Ints) -> Bools:
    """Enough clean turns on enough days, the newest fresh, at the end of each class."""
    turns_so_far = _from_none(clean)
    days_so_far = _from_none(clean > 0)
    now = np.arange(1, len(days) + 1)
    since = np.searchsorted(days, days - rule.within)
    fresh = np.searchsorted(days, days - rule.fresh)
    enough: Bools = (
        (turns_so_far[now] - turns_so_far[since] >= rule.clean)
        & (days_so_far[now] - days_so_far[since] >= rule.days)
        & (days_so_far[now] > days_so_far[fresh])
    )
    return enough


def _from_none(counts: NDArray[np.generic]) -> Ints:
    """Running sums, with a 0 before the first."""
    sums = np.zeros((counts.shape[0] + 1, *counts.shape[1:]), dtype=np.int64)
    np.cumsum(counts, axis=0, out=sums[1:])
    return sums


# --- gates ----------------------------------------------------------------------------


def opens_by_luck(
    rules: Sequence[Rule],
    memory: Memory,
    rates: Sequence[float],
    classes: Classes,
    weeks: Sequence[float] = WEEKS,
    runs: int = RUNS,
    seed: int = 1,
) -> list[ChanceCurve]:
    """For each rule: the chance that a child who stays at a true rate opens it in time."""
    days = classes.days(max(weeks))
    clean = simulate_clean(rates, classes, len(days), runs, seed)
    turns = np.full((len(days), 1, 1), classes.turns)
    opened = [first_open(rule, memory, days, turns, clean) for rule in rules]
    ends = [len(classes.days(horizon)) for horizon in weeks]
    return [_curve([np.less(at, end) for end in ends], rates, weeks) for at in opened]


def certainty_for(
    rule: Rule,
    memory: Memory,
    rate: float,
    most: float,
    classes: Classes,
    weeks: float = WEEKS[0],
    runs: int = RUNS,
    seed: int = 1,
) -> float | None:
    """The least certainty, in whole hundredths, with which a child who stays at ``rate`` opens
    the rule within ``weeks`` with chance ``most`` at the most; None if .99 is not enough.

    ``rule``'s own certainty is not used. Nothing under .5 is offered.
    """
    days = classes.days(weeks)
    clean = simulate_clean([rate], classes, len(days), runs, seed)
    peaks = _peaks(rule, memory, days, np.full((len(days), 1, 1), classes.turns), clean)
    for hundredths in range(CERTAINTY_STEPS // 2, CERTAINTY_STEPS):
        certainty = hundredths / CERTAINTY_STEPS
        if np.mean(peaks >= certainty) <= most:
            return certainty
    return None


def _peaks(rule: Rule, memory: Memory, days: Ints, turns: Ints, clean: Ints) -> Floats:
    """The highest sureness of each child while all else that the rule asks is met."""
    turns = np.broadcast_to(turns, clean.shape)
    enough = _enough(rule, days, clean)
    peaks, a, b = (np.zeros(clean.shape[1:]) for _ in range(3))
    for at in range(len(days)):
        _next_class(a, b, memory, days, turns, clean, at)
        ask = enough[at]
        now = np.round(betainc(1 + b[ask], 1 + a[ask], 1 - rule.rate), DECIMALS)
        peaks[ask] = np.maximum(peaks[ask], now)
    return peaks


def _curve(hits: Sequence[Bools], rates: Sequence[float], weeks: Sequence[float]) -> ChanceCurve:
    """``hits`` holds for each horizon an array of rate by run."""
    runs = hits[0].shape[-1]
    return ChanceCurve(
        tuple(rates),
        tuple(weeks),
        tuple(tuple(float(share) for share in hit.mean(axis=-1)) for hit in hits),
        tuple(tuple(standard_error(int(n), runs) for n in hit.sum(axis=-1)) for hit in hits),
        runs,
    )


def standard_error(hits: int, runs: int) -> float:
    share = (hits + 1) / (runs + 2)
    return float(np.sqrt(share * (1 - share) / runs))


# --- lately ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Caught:
    """How soon lately sees that the true rate has dropped.

    turns, classes: medians until it falls, counted from the first turn and class after the
    drop, of all children; None if fewer than half are caught within the horizon. missed: the
    share not caught within it, with its standard error.
    """

    rate: float
    turns: int | None
    classes: int | None
    missed: float
    error: float


def falls(asked: float, memory: Memory, days: Ints, turns: Ints, outcomes: Bools) -> Ints:
    """When lately falls: for each class the turn in it, counted from 1; 0 where it does not.

    ``asked``: the gate's rate. ``outcomes`` are of class by turn by child, and ``turns`` of
    class by child says how many of them were taken. Lately is read after each turn; after a
    fall only later classes count, as on the floor.
    """
    fell = np.zeros(turns.shape, dtype=np.int64)
    a, b = np.zeros(turns.shape[1:]), np.zeros(turns.shape[1:])
    level = SureLevel(asked, (1 - asked) * FALL_SHARE, _most(memory, turns))
    for at in range(len(days)):
        clean = np.zeros(turns.shape[1:], dtype=np.int64)
        fade = 2.0 ** (-float(days[at] - days[max(at - 1, 0)]) / memory.time)
        a *= np.where(turns[at] > 0, fade * 2.0 ** (-1 / memory.days), fade)
        b *= np.where(turns[at] > 0, fade * 2.0 ** (-1 / memory.days), fade)
        for turn in range(1, int(turns[at].max(initial=0)) + 1):
            clean += outcomes[at, turn - 1]
            weight = 1 / (1 + (turn - 1) * memory.day_correlation)
            watching = (turns[at] >= turn) & (fell[at] == 0)
            low = ~level.reached(1 + a + clean * weight, 1 + b + (turn - clean) * weight)
            fell[at, watching & low] = turn
        _close_class(a, b, memory, turns[at], outcomes[at], fell[at] > 0)
    return fell


def _close_class(
    a: Floats, b: Floats, memory: Memory, turns: Ints, outcomes: Bools, fell: Bools
) -> None:
    taken = np.arange(1, len(outcomes) + 1)[:, None] <= turns
    clean = (outcomes & taken).sum(axis=0)
    weight = 1 / (1 + np.maximum(turns - 1, 0) * memory.day_correlation)
    a += clean * weight
    b += (turns - clean) * weight
    a[fell] = b[fell] = 0


def simulate_outcomes(rate: Floats, correlation: float, luck: Floats) -> Bools:
    """Turn by turn: each of ``luck`` (class by turn by child, uniform) against the chance given
    the day's turns before it. ``rate`` is of class by child, or can be broadcast to it.

    Pólya's urn: the turns of a day whose own rate is Beta with this correlation.
    """
    outcomes = np.empty(luck.shape, dtype=np.bool_)
    clean = np.zeros((luck.shape[0], luck.shape[2]))
    pull = correlation / (1 - correlation)
    for turn in range(luck.shape[1]):
        chance = (rate + clean * pull) / (1 + turn * pull)
        outcomes[:, turn] = luck[:, turn] < chance
        clean += outcomes[:, turn]
    return outcomes


def false_rechecks(
    asked: float,
    memory: Memory,
    rates: Sequence[float],
    classes: Classes,
    weeks: Sequence[float] = WEEKS,
    runs: int = RUNS,
    seed: int = 1,
    settled_classes: int = 0,
    settled: float = SETTLED,
) -> ChanceCurve:
    """The chance that lately sends a child who stays at a true rate to re-check in time.

    ``memory`` is lately's own, ``asked`` the gate's rate. The weeks run from the opening of the
    stage, or from after ``settled_classes`` classes at the rate ``settled``.
    """
    after = len(classes.days(max(weeks)))
    days = _class_days(classes, settled_classes + after)
    early = np.arange(len(days)) < settled_classes
    fell = np.stack(
        [
            _falls_at(asked, memory, np.where(early, settled, rate), classes, days, runs, seed)
            for rate in rates
        ]
    )[:, settled_classes:]
    ends = [len(classes.days(horizon)) for horizon in weeks]
    return _curve([np.any(fell[:, :end], axis=1) for end in ends], rates, weeks)


def _class_days(classes: Classes, count: int) -> Ints:
    return classes.days(count / classes.a_week)[:count]


def _falls_at(
    asked: float,
    memory: Memory,
    rates: Floats,
    classes: Classes,
    days: Ints,
    runs: int,
    seed: int,
) -> Ints:
    """Falls, of class by run, of children with one true rate for each class."""
    luck = np.random.default_rng(seed).random((len(days), classes.turns, runs))
    outcomes = simulate_outcomes(rates[:, None], classes.day_correlation, luck)
    turns = np.full((len(days), runs), classes.turns, dtype=np.int64)
    return falls(asked, memory, days, turns, outcomes)


def turns_until_caught(
    asked: float,
    memory: Memory,
    dropped: Sequence[float],
    classes: Classes,
    weeks: float = 26,
    runs: int = RUNS,
    seed: int = 1,
    settled_classes: int = SETTLED_CLASSES,
    settled: float = SETTLED,
) -> list[Caught]:
    """How long until lately falls, once the rate drops from ``settled`` to each of ``dropped``.

    The first ``settled_classes`` classes are at ``settled``; ``weeks`` is the horizon after.
    """
    days = _class_days(classes, settled_classes + len(classes.days(weeks)))
    early = np.arange(len(days)) < settled_classes
    found = []
    for rate in dropped:
        each = np.where(early, settled, rate)
        fell = _falls_at(asked, memory, each, classes, days, runs, seed)[settled_classes:]
        found.append(_caught(rate, classes.turns, fell))
    return found


def _caught(rate: float, turns: int, fell: Ints) -> Caught:
    runs = fell.shape[1]
    at = np.where((fell > 0).any(axis=0), (fell > 0).argmax(axis=0), len(fell))
    caught = at < len(fell)
    in_class = fell[np.minimum(at, len(fell) - 1), np.arange(runs)]
    missed = int((~caught).sum())
    waits = np.sort(np.where(caught, at * turns + in_class, np.iinfo(np.int64).max))
    middle = int(waits[(runs - 1) // 2])
    half = 2 * missed < runs
    return Caught(
        rate,
        middle if half else None,
        (middle - 1) // turns + 1 if half else None,
        missed / runs,
        standard_error(missed, runs),
    )
