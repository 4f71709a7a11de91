"""The chance that turns which are still to come meet a clean gate on a day.

V(n) = Σ over k of P(k)·[the gate is met that day with k clean of n]. The true clean rate is
Beta(a, b), as the record has it faded to that day; k given the rate is beta-binomial with the
ladder's day correlation (Skellam, *J R Stat Soc B* 1948;10:257-261, from memory), drawn turn by
turn as Pólya's urn. The sum over k is exact; over the rate it runs at sixteen quantile midpoints.
"""

import datetime
from collections.abc import Iterable, Sequence

from scipy.special import betaincinv

from readiness.engine.clean_rate import (
    MOST_TURNS_A_DAY,
    DayTurns,
    Decay,
    DecayedCounts,
    Rule,
    by_day,
    pseudo_counts,
    read_clean,
)

RATES = 16


def chance_to_meet(
    days: Iterable[DayTurns],
    on: datetime.date,
    gate: Rule,
    turns: int,
    decay: Decay | None = None,
    before: DecayedCounts | None = None,
) -> float:
    """The chance (0 to 1) that ``gate`` is met at the end of ``on`` after so many turns that day.

    The gate is read as always: days, number and freshness count. ``days`` and ``before`` are as
    in read_clean. No more is no less only while the clean turns asked for stay as many: a gate
    that is met already can be lost by turns. Raises ValueError for turns under 0 or over 15.
    """
    if not 0 <= turns <= MOST_TURNS_A_DAY:
        raise ValueError(f"{turns!r} turns on a day")
    decay, known = decay or Decay(), by_day(days, on)
    meets = [
        read_clean([*known, (on, turns, clean)], on, gate, decay, before).met
        for clean in range(turns + 1)
    ]
    if len(set(meets)) == 1:
        return float(meets[0])
    a, b = pseudo_counts(known, on, decay, before)
    rates = betaincinv(a, b, [(place + 0.5) / RATES for place in range(RATES)])
    return sum(_chance_at(float(rate), meets, decay.day_correlation) for rate in rates) / RATES


def _chance_at(rate: float, meets: Sequence[bool], correlation: float) -> float:
    chances = clean_of_day(rate, len(meets) - 1, correlation)
    return sum(chance for chance, met in zip(chances, meets, strict=True) if met)


def clean_of_day(rate: float, turns: int, correlation: float) -> list[float]:
    """P(k clean of a day's turns), k from 0 to ``turns``: beta-binomial with that mean and
    correlation (0 to 1; 0 is binomial)."""
    chances = [1.0]
    for done in range(turns):
        longer = [0.0] * (done + 2)
        for clean, chance in enumerate(chances):
            # The first turn is clean at the rate itself, whatever the correlation.
            lean = (1 - correlation) * rate + correlation * clean
            next_clean = lean / (1 - correlation + correlation * done) if done else rate
            longer[clean] += chance * (1 - next_clean)
            longer[clean + 1] += chance * next_clean
        chances = longer
    return chances
