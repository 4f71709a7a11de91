"""How often something happened in so many turns, with an interval."""

from dataclasses import dataclass

from scipy.stats import chi2

# With fewer the interval is so wide that the rate says nothing (common practice, no source).
FEWEST = 20
PER = 1000


@dataclass(frozen=True)
class Rate:
    """Per 1,000 turns, with the 95 % interval."""

    rate: float
    lower: float
    upper: float


def exact_poisson(count: int, confidence: float = 0.95) -> tuple[float, float]:
    """The exact interval of the mean of which ``count`` was seen.

    Source: Garwood, *Biometrika* 1936;28:437-442, by the quantiles of chi-squared.
    """
    if count < 0:
        raise ValueError(f"{count!r} times")
    tail = (1 - confidence) / 2
    lower = 0.0 if count == 0 else float(chi2.ppf(tail, 2 * count)) / 2
    return lower, float(chi2.ppf(1 - tail, 2 * count + 2)) / 2


def per_thousand(count: int, turns: int) -> Rate | None:
    """None where it happened fewer than 20 times, or no turn was counted: too few to say."""
    if count < FEWEST or turns <= 0:
        return None
    lower, upper = exact_poisson(count)
    return Rate(count * PER / turns, lower * PER / turns, upper * PER / turns)
