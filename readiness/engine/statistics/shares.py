"""Shares of a whole that is counted by kinds, and whether something has become rarer.

Weights by kind give a Dirichlet posterior from one for each kind (Gelman et al., *Bayesian Data
Analysis*, 3rd edition, 3.4); a share alone is then Beta.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv, betaln, gammainc, gammaincinv, gammaln

Floats = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(120)
# Of a distribution, what lies beyond on either side is left out of an integral.
_BEYOND = 1e-13


@dataclass(frozen=True)
class Share:
    """A kind's share of the whole (0 to 1), and its interval."""

    share: float
    lower: float
    upper: float


def shares(weights: Sequence[float], confidence: float = 0.9) -> list[Share]:
    """Of each kind, in the order given; ``weights``: how much was seen of it, 0 or more.

    Raises ValueError for fewer than two kinds, or for a weight under 0.
    """
    alphas = _alphas(weights)
    whole, tail = alphas.sum(), (1 - confidence) / 2
    lower, upper = (betaincinv(alphas, whole - alphas, end) for end in (tail, 1 - tail))
    return [Share(*map(float, each)) for each in zip(alphas / whole, lower, upper, strict=True)]


def chance_of_largest(weights: Sequence[float], at: int) -> float:
    """The chance that the kind at this place of ``weights`` has the largest share.

    A Dirichlet's parts are gammas over their sum, which does not change their order. Raises
    ValueError as ``shares`` does.
    """
    alphas = _alphas(weights)
    alpha, others = alphas[at], np.delete(alphas, at)
    points, widths = _between(gammaincinv(alpha, _BEYOND), gammaincinv(alpha, 1 - _BEYOND))
    density = np.exp((alpha - 1) * np.log(points) - points - gammaln(alpha))
    return float(np.sum(widths * density * gammainc(others[:, None], points).prod(axis=0)))


def chance_of_fewer(
    before: tuple[float, float], after: tuple[float, float], kinds: int = 3
) -> float:
    """The chance that a kind's share is smaller after than before, from (seen, of) each.

    ``kinds``: how many the counts were parted into; one is added to each of them. Raises
    ValueError where more was seen than there was.
    """
    (a, b), later = _beta(before, kinds), _beta(after, kinds)
    points, widths = _between(betaincinv(a, b, _BEYOND), betaincinv(a, b, 1 - _BEYOND))
    density = np.exp((a - 1) * np.log(points) + (b - 1) * np.log1p(-points) - betaln(a, b))
    return float(np.sum(widths * density * betainc(*later, points)))


def _alphas(weights: Sequence[float]) -> Floats:
    if len(weights) < 2 or min(weights) < 0:
        raise ValueError(f"{weights!r}: two kinds at least, none under 0")
    return 1 + np.asarray(weights, dtype=float)


def _beta(counts: tuple[float, float], kinds: int) -> tuple[float, float]:
    seen, of = counts
    if not 0 <= seen <= of:
        raise ValueError(f"{seen!r} of {of!r}")
    return 1 + seen, kinds - 1 + of - seen


def _between(low: float, high: float) -> tuple[Floats, Floats]:
    """Points, and what each stands for, with which an integral is a sum (Gauss and Legendre)."""
    half = (high - low) / 2
    return low + half * (_NODES + 1), half * _WEIGHTS
