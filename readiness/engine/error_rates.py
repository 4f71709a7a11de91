"""What a gate lets through by luck, and how soon lately sees a real drop.

Simulation, all children and rates at once: a day's clean turns are beta-binomial, so that the
turns of one day are correlated as the ladder says. All rates share the same random numbers:
the curves are smooth, and the same seed gives the same answer. A child is taken to come to
every class. Every chance is for a horizon in weeks: a child who is given tries enough passes
any rule (Champ & Woodall, *Technometrics* 1987, say the same of run rules).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

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
    the level lies between those of the nodes. Only points in that strip are worked out.
    """

    MARGIN = 1e-4

    def __init__(self, rate: float, level: float, most: float, nodes: int = 512) -> None:
        self._rate, self._level = rate, level
        self._nodes = np.geomspace(1.0, max(most, 1.0) + 1.0, nodes)
        self._least = btdtria(1 - level, self._nodes, rate)

    def reached(self, a: Floats, b: Floats) -> Bools:
        right = np.clip(np.searchsorted(self._nodes, b, side="right"), 1, self._nodes.size - 1)
        sure: Bools = a > self._least[right] + self.MARGIN
        strip = ~sure & (a > self._least[right - 1] - self.MARGIN)
        exact = np.round(betainc(b[strip], a[strip], 1 - self._rate), DECIMALS)
        sure[strip] = exact >= self._level
        return sure


# --- the days of many children --------------------------------------------------------


def beta_binomial(turns: int, rate: float, correlation: float) -> Floats:
    """The chances of 0 to ``turns`` clean turns on a day of mean ``rate``."""
    clean = np.arange(turns + 1)
    choose = gammaln(turns + 1) - gammaln(clean + 1) - gammaln(turns - clean + 1)
    if rate in (0, 1):
        return (clean == rate * turns).astype(np.float64)
    if correlation == 0:
        logs = choose + clean * np.log(rate) + (turns - clean) * np.log1p(-rate)
    else:
        a = rate * (1 - correlation) / correlation
        b = (1 - rate) * (1 - correlation) / correlation
        logs = choose + betaln(clean + a, turns - clean + b) - betaln(a, b)
    chances: Floats = np.exp(logs)
    return chances / chances.sum()


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


def first_open(rule: Rule, memory: Memory, days: Ints, turns: Ints, clean: Ints) -> Ints:
    """The number of the class at whose end the rule is first met; ``len(days)`` if never.

    ``days`` grow; ``turns`` and ``clean`` have the classes on their first axis and children on
    the others. A child with no turns in a class was not there. The same answer as reading
    each child with clean_rate.read_clean after every class.
    """
    turns = np.broadcast_to(turns, clean.shape)
    enough = _enough(rule, days, clean)
    opened = np.full(clean.shape[1:], len(days), dtype=np.int64)
    a, b = np.zeros(clean.shape[1:]), np.zeros(clean.shape[1:])
    level = SureLevel(rule.rate, rule.certainty, _most(memory, turns))
    for at in range(len(days)):
        _next_class(a, b, memory, days, turns, clean, at)
        ask = enough[at] & (opened == len(days))
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


def _most(memory: Memory, turns: Ints) -> float:
    """More than a or b can ever be."""
    most = int(turns.max(initial=1))
    a_day = most / (1 + (most - 1) * memory.day_correlation)
    days = min(len(turns), 1 / (1 - 2.0 ** (-1 / memory.days)))
    return float(1 + a_day * days)


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
    turns = np.full(clean.shape[:1] + (1, 1), classes.turns, dtype=np.int64)
    return [
        _curve(days[first_known(first_open(rule, memory, days, turns, clean), days)], rates, weeks)
        for rule in rules
    ]
