"""Many invented children at once: their turns, and when a clean rule is first met.

Shared: used by the gates page, through its error rates. Simulation, all children and rates at
once: a day's clean turns are beta-binomial, so that the turns of one day hang together as far
as the ladder says. All rates share the same random numbers: the curves are smooth, and the same
seed gives the same answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaln, btdtria, gammaln

from readiness.engine.clean_rate import DECIMALS, Decay, Rule

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


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


def first_open(
    rule: Rule,
    decay: Decay,
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
    enough = has_enough(rule, days, clean)
    opened = np.full(clean.shape[1:], len(days), dtype=np.int64)
    a, b = (np.array(counts) for counts in before or np.zeros((2, *clean.shape[1:])))
    level = SureLevel(
        rule.rate, rule.certainty, highest_count(decay, turns) + float(b.max(initial=0))
    )
    for at in range(len(days)):
        next_class(a, b, decay, days, turns, clean, at)
        ask = np.nonzero(enough[at] & (opened == len(days)))
        met = level.reached(1 + a[ask], 1 + b[ask])
        opened[ask] = np.where(met, at, len(days))
    return opened


def next_class(
    a: Floats, b: Floats, decay: Decay, days: Ints, turns: Ints, clean: Ints, at: int
) -> None:
    """Move the faded counts, without the prior's ones, from one class to the next, in place."""
    fade = 2.0 ** (-float(days[at] - days[max(at - 1, 0)]) / decay.time)
    faded = np.where(turns[at] > 0, fade * 2.0 ** (-1 / decay.days), fade)
    weight = 1 / (1 + (turns[at] - 1) * decay.day_correlation * (turns[at] > 0))
    a *= faded
    b *= faded
    a += clean[at] * weight
    b += (turns[at] - clean[at]) * weight


def decayed_counts(
    decay: Decay, days: Ints, turns: Ints, clean: Ints, classes: int
) -> tuple[Floats, Floats]:
    """Clean and not clean turns of the first so many classes, weighted as on the last of them."""
    a, b = np.zeros(clean.shape[1:]), np.zeros(clean.shape[1:])
    for at in range(classes):
        next_class(a, b, decay, days, turns, clean, at)
    return a, b


def highest_count(decay: Decay, turns: Ints) -> float:
    """More than a or b can ever be."""
    most = int(turns.max(initial=1))
    a_day = most / (1 + (most - 1) * decay.day_correlation)
    return float(1 + a_day * np.sum(2.0 ** (-np.arange(len(turns)) / decay.days)))


def has_enough(rule: Rule, days: Ints, clean: Ints) -> Bools:
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
