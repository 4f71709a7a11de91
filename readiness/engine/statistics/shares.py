"""Shares of a whole that is counted by kinds, and whether something has become rarer.

Weights by kind give a Dirichlet posterior from one for each kind (Gelman et al., *Bayesian Data
Analysis*, 3rd edition, 3.4); a share alone is then Beta.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import beta, gamma
from scipy.stats.distributions import rv_frozen

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(200)
# Of a distribution, what lies beyond on either side is left out of an integral.
_BEYOND = 1e-13


@dataclass(frozen=True)
class Share:
    """A kind's share (0 to 1), its interval, and the chance that it is the largest of all."""

    share: float
    lower: float
    upper: float
    largest: float


def shares(weights: Sequence[float], confidence: float = 0.9) -> list[Share]:
    """Of each kind, in the order given; ``weights``: how much was seen of it, 0 or more.

    Raises ValueError for fewer than two kinds, or for a weight under 0.
    """
    if len(weights) < 2 or min(weights) < 0:
        raise ValueError(f"{weights!r}: two kinds at least, none under 0")
    alphas = [1 + weight for weight in weights]
    whole, tail = sum(alphas), (1 - confidence) / 2
    largest = _chances_of_being_largest(alphas)
    return [
        Share(
            alpha / whole,
            float(beta.ppf(tail, alpha, whole - alpha)),
            float(beta.ppf(1 - tail, alpha, whole - alpha)),
            chance,
        )
        for alpha, chance in zip(alphas, largest, strict=True)
    ]


def _chances_of_being_largest(alphas: Sequence[float]) -> list[float]:
    """A Dirichlet's parts are gammas over their sum, which does not change their order."""
    chances = []
    for at, alpha in enumerate(alphas):
        points, weights = _over(gamma(alpha))
        others = [gamma.cdf(points, other) for i, other in enumerate(alphas) if i != at]
        chances.append(float(np.sum(weights * np.prod(others, axis=0))))
    return chances


def chance_of_fewer(
    before: tuple[float, float], after: tuple[float, float], kinds: int = 3
) -> float:
    """The chance that a kind's share is smaller after than before, from (seen, of) each.

    ``kinds``: how many the counts were parted into; one is added to each of them. Raises
    ValueError where more was seen than there was.
    """
    first, second = _share_of(before, kinds), _share_of(after, kinds)
    points, weights = _over(first)
    return float(np.sum(weights * second.cdf(points)))


def _share_of(counts: tuple[float, float], kinds: int) -> rv_frozen:
    seen, of = counts
    if not 0 <= seen <= of:
        raise ValueError(f"{seen!r} of {of!r}")
    return beta(1 + seen, kinds - 1 + of - seen)


def _over(distribution: rv_frozen) -> tuple[np.ndarray, np.ndarray]:
    """Points and weights with which a function's mean over the distribution is a sum."""
    low, high = distribution.ppf(_BEYOND), distribution.isf(_BEYOND)
    points = low + (high - low) * (_NODES + 1) / 2
    return points, _WEIGHTS * (high - low) / 2 * distribution.pdf(points)
