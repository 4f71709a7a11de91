"""Intervals for a share: how far the true rate may lie from what was seen."""

import math

from scipy.stats import beta, norm

Interval = tuple[float, float]


def wilson(clean: int, turns: int, confidence: float = 0.95) -> Interval | None:
    """Wilson's score interval for clean of turns; None with no turns.

    Source: Newcombe, *Statistics in Medicine* 1998;17:857-872, method 3.
    """
    _check(clean, turns)
    if turns == 0:
        return None
    z = float(norm.ppf((1 + confidence) / 2))
    share, square = clean / turns, z * z
    centre = (share + square / (2 * turns)) / (1 + square / turns)
    spread = math.sqrt(share * (1 - share) / turns + square / (4 * turns * turns))
    half = z * spread / (1 + square / turns)
    lower = 0.0 if clean == 0 else centre - half
    upper = 1.0 if clean == turns else centre + half
    return lower, upper


def clopper_pearson(clean: int, turns: int, confidence: float = 0.95) -> Interval | None:
    """The exact interval for clean of turns; None with no turns.

    Source: Newcombe, *Statistics in Medicine* 1998;17:857-872, method 5.
    """
    _check(clean, turns)
    if turns == 0:
        return None
    tail = (1 - confidence) / 2
    lower = 0.0 if clean == 0 else float(beta.ppf(tail, clean, turns - clean + 1))
    upper = 1.0 if clean == turns else float(beta.ppf(1 - tail, clean + 1, turns - clean))
    return lower, upper


def most_after_none(turns: int, confidence: float = 0.95) -> float | None:
    """How frequent something may still be that was not seen in so many turns.

    The exact one-sided upper limit 1 - (1 - confidence)^(1/turns); None with no turns.
    """
    _check(0, turns)
    return None if turns == 0 else 1 - (1 - confidence) ** (1 / turns)


def _check(clean: int, turns: int) -> None:
    if not 0 <= clean <= turns:
        raise ValueError(f"{clean!r} of {turns!r} turns")
