"""What a gate lets through by luck.

Shared: used by the gates page. A child is taken to come to every class. Every chance is for a
horizon in weeks, since a child with enough turns gets through any rule.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betainc

from readiness.engine.clean_rate import DECIMALS, Decay, Rule
from readiness.engine.trial.simulation import (
    Bools,
    Classes,
    Floats,
    Ints,
    first_open,
    has_enough,
    next_class,
    simulate_clean,
)

# A term and a year of classes (practice).
WEEKS = (13, 52)
# The standard error of a chance from so many runs is at most .0158.
RUNS = 1000
CERTAINTY_STEPS = 100


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


def opens_by_luck(
    rules: Sequence[Rule],
    decay: Decay,
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
    opened = [first_open(rule, decay, days, turns, clean) for rule in rules]
    ends = [len(classes.days(horizon)) for horizon in weeks]
    return [chance_curve([np.less(at, end) for end in ends], rates, weeks) for at in opened]


def certainty_for(
    rule: Rule,
    decay: Decay,
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
    peaks = _peaks(rule, decay, days, np.full((len(days), 1, 1), classes.turns), clean)
    for hundredths in range(CERTAINTY_STEPS // 2, CERTAINTY_STEPS):
        certainty = hundredths / CERTAINTY_STEPS
        if np.mean(peaks >= certainty) <= most:
            return certainty
    return None


def _peaks(rule: Rule, decay: Decay, days: Ints, turns: Ints, clean: Ints) -> Floats:
    """The highest sureness of each child while all else that the rule asks is met."""
    turns = np.broadcast_to(turns, clean.shape)
    enough = has_enough(rule, days, clean)
    peaks, a, b = (np.zeros(clean.shape[1:]) for _ in range(3))
    for at in range(len(days)):
        next_class(a, b, decay, days, turns, clean, at)
        ask = enough[at]
        now = np.round(betainc(1 + b[ask], 1 + a[ask], 1 - rule.rate), DECIMALS)
        peaks[ask] = np.maximum(peaks[ask], now)
    return peaks


def chance_curve(
    hits: Sequence[Bools], rates: Sequence[float], weeks: Sequence[float]
) -> ChanceCurve:
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
