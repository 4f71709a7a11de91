"""Invented children for the trial of rules: worlds, and the records that are made in them.

Every child has a true clean rate for each class, which no rule sees. Nothing here is data.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readiness.engine.trial.simulation import Bools, Floats, Ints, simulate_outcomes

CLASSES = 140
ATTENDS = 0.88
VARYING = "varying"
VARIES = (1, 6)
# Children are worked through in blocks; how many does not change what each of them does.
BLOCK = 500

# Turns a class: a number, or "varying" from 1 to 6.
Turns = int | str


# --- worlds ---------------------------------------------------------------------------

Curves = Callable[[np.random.Generator, int], Floats]


@dataclass(frozen=True)
class World:
    """rates: draws the true clean rate of each class, for so many children (class by child).

    pauses: before which classes there are how many days more without one. logs_misses: the
    chance that a turn that was not clean is logged. origin: where the world comes from.
    """

    name: str
    origin: str
    rates: Curves
    pauses: tuple[tuple[int, int], ...] = ()
    logs_misses: float = 1.0

    def days(self, days_between: float) -> Ints:
        days: Ints = np.floor(np.arange(CLASSES) * days_between).astype(np.int64)
        for at, more in self.pauses:
            days[at:] += more
        return days


def clip(rates: Floats) -> Floats:
    return np.clip(rates, 0.02, 0.985)


@dataclass(frozen=True)
class Learning:
    """Start U(.2, .5), top U(.7, .98), p = top - (top - start)·exp(-practice/constant), with a
    constant of U(8, 40). Practice is counted in classes."""

    start: Floats
    top: Floats
    constant: Floats

    @classmethod
    def drawn(cls, draw: np.random.Generator, children: int) -> "Learning":
        start, top = draw.uniform(0.2, 0.5, children), draw.uniform(0.7, 0.98, children)
        return cls(start, top, draw.uniform(8, 40, children))

    def after(self, practice: Floats | Ints) -> Floats:
        """The true rate after so much practice, in classes: by child, or class by child."""
        gap = (self.top - self.start) * np.exp(-practice / self.constant)
        return np.asarray(self.top - gap, dtype=np.float64)


def _learning(draw: np.random.Generator, children: int) -> Floats:
    return Learning.drawn(draw, children).after(np.arange(CLASSES)[:, None])


def dips(draw: np.random.Generator, children: int) -> Floats:
    """Two dips, each with chance .6, of U(.15, .4) for 2 to 7 classes, at any class."""
    at = np.arange(CLASSES)[:, None]
    lost = np.zeros((CLASSES, children))
    for _ in range(2):
        comes, depth = draw.random(children) < 0.6, draw.uniform(0.15, 0.4, children)
        first, length = draw.integers(0, CLASSES, children), draw.integers(2, 8, children)
        lost += comes * depth * ((at >= first) & (at < first + length))
    return lost


def plateaus_and_dips(draw: np.random.Generator, children: int) -> Floats:
    return clip(_learning(draw, children) - dips(draw, children))


def fear(draw: np.random.Generator, children: int) -> Floats:
    """A fright: once over .7, at some class the rate falls by U(.3, .6), stays down for 6 to 20
    classes and comes back over 10."""
    rates = _learning(draw, children)
    at = np.arange(CLASSES)[:, None]
    over = np.where((rates >= 0.7).any(axis=0), (rates >= 0.7).argmax(axis=0), CLASSES)
    first = over + draw.integers(0, 40, children)
    depth, length = draw.uniform(0.3, 0.6, children), draw.integers(6, 21, children)
    back = np.clip((at - first - length) / 10, 0, 1)
    return clip(rates - depth * (at >= first) * (1 - back))


def growth(draw: np.random.Generator, children: int) -> Floats:
    """A spurt: over 10 classes the rate slides by U(.1, .3), stays there for 20 to 40 classes
    and is won back over 20."""
    rates = _learning(draw, children)
    at = np.arange(CLASSES)[:, None]
    first, length = draw.integers(10, 100, children), draw.integers(20, 41, children)
    depth = draw.uniform(0.1, 0.3, children)
    down = np.clip((at - first) / 10, 0, 1)
    back = np.clip((at - first - 10 - length) / 20, 0, 1)
    return clip(rates - depth * down * (1 - back))


TERMS = tuple(range(36, CLASSES, 36))


def long_breaks(draw: np.random.Generator, children: int) -> Floats:
    """Nine weeks without a class after every 36: on return the rate is U(.1, .3) lower and
    comes back with a time constant of 4 classes."""
    rates = _learning(draw, children)
    at = np.arange(CLASSES)[:, None]
    for term in TERMS:
        since = np.maximum(at - term, 0)
        rates -= draw.uniform(0.1, 0.3, children) * (at >= term) * np.exp(-since / 4)
    return clip(rates)


FIXED = World("plateaus and dips", "the fixed world of the trial", plateaus_and_dips)
OWN_WORLDS = (
    World("fear", "our own, for the doubt that comes back after a fright; no source", fear),
    World("growth", "our own, for skills that wobble in a growth spurt; no source", growth),
    World(
        "long breaks",
        "our own, for summers and illness; no source",
        long_breaks,
        pauses=tuple((term, 63) for term in TERMS),
    ),
    World(
        "only clean logged",
        "our own: the fixed world, where half of the turns that were not clean are not logged",
        plateaus_and_dips,
        logs_misses=0.5,
    ),
)


# --- records --------------------------------------------------------------------------


@dataclass(frozen=True)
class Record:
    """What was logged. rate: the true one, class by child. turns: logged, 0 for a child who
    was not there. outcomes: class by turn by child; only the first ``turns`` were taken."""

    days: Ints
    rate: Floats
    turns: Ints
    outcomes: Bools

    @property
    def clean(self) -> Ints:
        return np.asarray((self.outcomes & self.taken).sum(axis=1), dtype=np.int64)

    @property
    def taken(self) -> Bools:
        return np.asarray(np.arange(self.outcomes.shape[1])[None, :, None] < self.turns[:, None, :])


def records(
    world: World, children: int, turns: Turns, days_between: float, correlation: float, seed: int
) -> Iterator[Record]:
    """The children in blocks: the same children and the same luck for every setting."""
    for block in range(0, children, BLOCK):
        count = min(BLOCK, children - block)
        # Whole blocks are drawn, so that more children leave the first ones as they are.
        draw = np.random.default_rng([seed, block])
        rate = world.rates(draw, BLOCK)
        present = draw.random((CLASSES, BLOCK)) < ATTENDS
        most = VARIES[1] if turns == VARYING else int(turns)
        a_class = draw.integers(VARIES[0], VARIES[1] + 1, (CLASSES, BLOCK))
        taken = np.where(present, a_class if turns == VARYING else most, 0)
        luck = draw.random((CLASSES, most, BLOCK))
        outcomes = simulate_outcomes(rate, correlation, luck)
        noticed = draw.random(outcomes.shape) < world.logs_misses
        record = Record(world.days(days_between), rate, taken, outcomes)
        yield _first(_logged(record, outcomes | noticed), count)


def _logged(record: Record, noticed: Bools) -> Record:
    """Only the turns that were logged, in their order."""
    logged = record.taken & noticed
    order = np.argsort(~logged, axis=1, kind="stable")
    outcomes = np.take_along_axis(record.outcomes, order, axis=1)
    return Record(record.days, record.rate, logged.sum(axis=1), outcomes)


def _first(record: Record, count: int) -> Record:
    cut = record.rate[:, :count], record.turns[:, :count], record.outcomes[:, :, :count]
    return Record(record.days, *cut)


@dataclass(frozen=True)
class Row:
    """All turns of each child in a row (child by turn): 1 clean, 0 not, -1 no more turns;
    and in which class each was taken."""

    outcomes: NDArray[np.int8]
    classes: Ints

    def class_of(self, signalled: Bools) -> Ints:
        """The class of the first turn at which a rule has spoken; CLASSES if it never does."""
        real = signalled & (self.outcomes >= 0)
        at = real.argmax(axis=1)
        classes = self.classes[np.arange(len(at)), at]
        return np.where(real.any(axis=1), classes, CLASSES)


def in_a_row(record: Record, a_class: int | None = None) -> Row:
    """``a_class``: only the first so many turns of each class."""
    taken = record.taken
    if a_class is not None:
        taken = taken & (np.arange(taken.shape[1]) < a_class)[None, :, None]
    # By child, then class, then turn.
    flags = taken.transpose(2, 0, 1).reshape(taken.shape[2], -1)
    turns = record.outcomes.transpose(2, 0, 1).reshape(flags.shape)
    place = np.cumsum(flags, axis=1) - 1
    child, at = np.nonzero(flags)
    length = int(flags.sum(axis=1).max(initial=1))
    outcomes = np.full((len(flags), length), -1, dtype=np.int8)
    classes = np.full((len(flags), length), CLASSES, dtype=np.int64)
    outcomes[child, place[child, at]] = turns[child, at]
    classes[child, place[child, at]] = at // taken.shape[1]
    return Row(outcomes, classes)
