"""How soon lately sees a real drop, and how often it falls without one."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from readiness.engine.clean_rate import Decay
from readiness.engine.support import FALL_SHARE
from readiness.engine.trial.error_rates import (
    RUNS,
    WEEKS,
    ChanceCurve,
    chance_curve,
    standard_error,
)
from readiness.engine.trial.simulation import (
    Bools,
    Classes,
    Floats,
    Ints,
    SureLevel,
    highest_count,
    simulate_outcomes,
)

# A steady child before a drop: the rate, and for how many classes (own choice).
SETTLED, SETTLED_CLASSES = 0.92, 12


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


def falls(gate_rate: float, decay: Decay, days: Ints, turns: Ints, outcomes: Bools) -> Ints:
    """When lately falls: for each class the turn in it, counted from 1; 0 where it does not.

    ``gate_rate``: the gate's rate. ``outcomes`` are of class by turn by child, and ``turns`` of
    class by child says how many of them were taken. Lately is read after each turn; after a
    fall only later classes count, as on the floor.
    """
    fell = np.zeros(turns.shape, dtype=np.int64)
    a, b = np.zeros(turns.shape[1:]), np.zeros(turns.shape[1:])
    level = SureLevel(gate_rate, (1 - gate_rate) * FALL_SHARE, highest_count(decay, turns))
    for at in range(len(days)):
        clean = np.zeros(turns.shape[1:], dtype=np.int64)
        fade = 2.0 ** (-float(days[at] - days[max(at - 1, 0)]) / decay.time)
        a *= np.where(turns[at] > 0, fade * 2.0 ** (-1 / decay.days), fade)
        b *= np.where(turns[at] > 0, fade * 2.0 ** (-1 / decay.days), fade)
        for turn in range(1, int(turns[at].max(initial=0)) + 1):
            clean += outcomes[at, turn - 1]
            weight = 1 / (1 + (turn - 1) * decay.day_correlation)
            watching = (turns[at] >= turn) & (fell[at] == 0)
            low = ~level.reached(1 + a + clean * weight, 1 + b + (turn - clean) * weight)
            fell[at, watching & low] = turn
        _close_class(a, b, decay, turns[at], outcomes[at], fell[at] > 0)
    return fell


def _close_class(
    a: Floats, b: Floats, decay: Decay, turns: Ints, outcomes: Bools, fell: Bools
) -> None:
    taken = np.arange(1, len(outcomes) + 1)[:, None] <= turns
    clean = (outcomes & taken).sum(axis=0)
    weight = 1 / (1 + np.maximum(turns - 1, 0) * decay.day_correlation)
    a += clean * weight
    b += (turns - clean) * weight
    a[fell] = b[fell] = 0


def false_rechecks(
    gate_rate: float,
    decay: Decay,
    rates: Sequence[float],
    classes: Classes,
    weeks: Sequence[float] = WEEKS,
    runs: int = RUNS,
    seed: int = 1,
    settled_classes: int = 0,
    settled: float = SETTLED,
) -> ChanceCurve:
    """The chance that lately sends a child who stays at a true rate to re-check in time.

    ``decay`` is lately's own, ``gate_rate`` the gate's rate. The weeks run from the opening of the
    stage, or from after ``settled_classes`` classes at the rate ``settled``.
    """
    after = len(classes.days(max(weeks)))
    days = _class_days(classes, settled_classes + after)
    early = np.arange(len(days)) < settled_classes
    fell = np.stack(
        [
            _falls_at(gate_rate, decay, np.where(early, settled, rate), classes, days, runs, seed)
            for rate in rates
        ]
    )[:, settled_classes:]
    ends = [len(classes.days(horizon)) for horizon in weeks]
    return chance_curve([np.any(fell[:, :end], axis=1) for end in ends], rates, weeks)


def _class_days(classes: Classes, count: int) -> Ints:
    return classes.days(count / classes.a_week)[:count]


def _falls_at(
    gate_rate: float,
    decay: Decay,
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
    return falls(gate_rate, decay, days, turns, outcomes)


def turns_until_caught(
    gate_rate: float,
    decay: Decay,
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
    results = []
    for rate in dropped:
        rates = np.where(early, settled, rate)
        fell = _falls_at(gate_rate, decay, rates, classes, days, runs, seed)[settled_classes:]
        results.append(_caught(rate, classes.turns, fell))
    return results


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
