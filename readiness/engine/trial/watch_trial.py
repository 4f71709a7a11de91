"""A trial of the watch over open stages: lately beside a CUSUM, in steady worlds."""

from dataclasses import dataclass

import numpy as np

from readiness.engine.clean_rate import Decay
from readiness.engine.trial.invented_children import VARIES, VARYING, Turns
from readiness.engine.trial.lately_errors import falls
from readiness.engine.trial.simulation import Bools, Ints, simulate_outcomes

STEADY_CLASSES, FALSE_CLASSES, CAUGHT_CLASSES = 12, 60, 40


@dataclass(frozen=True)
class WatchOutcome:
    """A watch over open stages in steady worlds: false_per_1000 turns at .95; classes until a
    drop to .5 is seen (median and 90th percentile; None: beyond the horizon)."""

    rule: str
    turns: Turns
    correlation: float
    false_per_1000: float
    median_classes: float | None
    p90_classes: float | None


def cusum_falls(
    outcomes: Bools, turns: Ints, miss: int = 3, clean: int = 1, limit: int = 15
) -> Ints:
    """A Bernoulli CUSUM's signals, as lately_errors.falls gives lately's; it starts again after."""
    fell = np.zeros(turns.shape, dtype=np.int64)
    score = np.zeros(turns.shape[1], dtype=np.int64)
    for at in range(len(turns)):
        for turn in range(1, int(turns[at].max(initial=0)) + 1):
            here = turns[at] >= turn
            score += here * np.where(outcomes[at, turn - 1], -clean, miss)
            np.maximum(score, 0, out=score)
            fell[at, here & (score >= limit) & (fell[at] == 0)] = turn
        score[fell[at] > 0] = 0
    return fell


def watch(
    gate_rate: float, decay: Decay, turns: Turns, correlation: float, children: int, seed: int
) -> list[WatchOutcome]:
    """Lately and the CUSUM side by side: 12 classes at .92, then .95 for good, or .5."""
    steady = _watched(gate_rate, decay, turns, correlation, children, seed, 0.95, FALSE_CLASSES)
    dropped = _watched(gate_rate, decay, turns, correlation, children, seed, 0.5, CAUGHT_CLASSES)
    results = []
    for rule, (fell, taken) in steady.items():
        late, _ = dropped[rule]
        waits = np.where((late > 0).any(axis=0), (late > 0).argmax(axis=0) + 1.0, np.inf)
        middle, most = np.median(waits), np.quantile(waits, 0.9, method="higher")
        results.append(
            WatchOutcome(
                rule,
                turns,
                correlation,
                float(1000 * (fell > 0).sum() / taken),
                float(middle) if np.isfinite(middle) else None,
                float(most) if np.isfinite(most) else None,
            )
        )
    return results


def _watched(
    gate_rate: float,
    decay: Decay,
    turns: Turns,
    correlation: float,
    children: int,
    seed: int,
    then: float,
    classes: int,
) -> dict[str, tuple[Ints, int]]:
    """For each rule its falls after the first 12 classes, and the turns taken in them."""
    draw = np.random.default_rng([seed, 1])
    count = STEADY_CLASSES + classes
    most = VARIES[1] if turns == VARYING else int(turns)
    a_class = draw.integers(VARIES[0], VARIES[1] + 1, (count, children))
    taken = a_class if turns == VARYING else np.full((count, children), most)
    rate = np.where(np.arange(count) < STEADY_CLASSES, 0.92, then)[:, None]
    luck = draw.random((count, most, children))
    outcomes = simulate_outcomes(rate, correlation, luck)
    days = np.arange(count) * 7
    counted = int(taken[STEADY_CLASSES:].sum())
    return {
        "lately": (falls(gate_rate, decay, days, taken, outcomes)[STEADY_CLASSES:], counted),
        "CUSUM +3/-1 at 15": (cusum_falls(outcomes, taken)[STEADY_CLASSES:], counted),
    }
