"""How long children stay in a stage: Kaplan-Meier over the studio's own history.

Children still in the stage are censored: what is known of them is that it took longer.
Kaplan & Meier, *JASA* 1958;53:457-481 (from memory); Greenwood's variance; intervals on the
scale log(-log S), so that they stay between 0 and 1 (Kalbfleisch & Prentice, from memory; the
same as ``cloglog`` in statsmodels and ``log-log`` in R's survfit).
"""

import datetime
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from scipy.stats import norm

# Fewer children say nothing that should be read off a curve (practice).
LEAST_CHILDREN = 8
# At these weeks it is said how many were still there.
MARKS = (0, 13, 26, 52, 104)
# A share is at most a half, in spite of the noise of multiplying.
NOISE = 1e-12

Code = Literal["ok", "not-enough-history"]


@dataclass(frozen=True)
class Stay:
    """One child's time in a stage; ``left`` is None while the child is still in it.

    seen_until: the day on which a child who is still in it was lost from sight, such as the day
    of leaving the studio; None: never.
    """

    entered: datetime.date
    left: datetime.date | None
    seen_until: datetime.date | None = None


@dataclass(frozen=True)
class Step:
    """The curve after ``weeks``: the share still in the stage.

    error: Greenwood's standard error; None, as is the interval, once nobody is left.
    """

    weeks: float
    at_risk: int
    moved_on: int
    share: float
    error: float | None
    interval: tuple[float, float] | None


@dataclass(frozen=True)
class Quantile:
    """The weeks after which so many have moved on; None if that is not reached. The interval
    ends are None where they are not reached either."""

    part: float
    weeks: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class TimeInStage:
    """``code`` is not-enough-history below 8 children: then there are no quantiles to show.

    children: all who entered. moved_on: those who left. quarter, half, three_quarters: when
    so many of them had moved on. at_risk: (weeks, how many were still in it then).
    """

    code: Code
    children: int
    moved_on: int
    steps: tuple[Step, ...] = ()
    quarter: Quantile | None = None
    half: Quantile | None = None
    three_quarters: Quantile | None = None
    at_risk: tuple[tuple[int, int], ...] = ()


def time_in_stage(
    stays: Iterable[Stay], today: datetime.date, confidence: float = 0.95
) -> TimeInStage:
    """Read the stays in one stage up to ``today``, one a child; later ones do not count.

    A stay left after ``today`` is read as still going on. Raises ValueError for one left or lost
    from sight before it was entered.
    """
    days = _days(stays, today)
    moved_on = sum(gone for _, gone in days)
    if len(days) < LEAST_CHILDREN:
        return TimeInStage("not-enough-history", len(days), moved_on)
    weeks = [(length / 7, gone) for length, gone in days]
    steps = survival(weeks, confidence)
    quantiles = (quantile(steps, part) for part in (0.25, 0.5, 0.75))
    risks = tuple((mark, at_risk(weeks, mark)) for mark in MARKS)
    quarter, half, three_quarters = quantiles
    return TimeInStage("ok", len(days), moved_on, steps, quarter, half, three_quarters, risks)


def _days(stays: Iterable[Stay], today: datetime.date) -> list[tuple[int, bool]]:
    """How long each stay was seen, and whether it ended then."""
    days = []
    for stay in stays:
        last = stay.left or stay.seen_until
        if last is not None and last < stay.entered:
            raise ValueError(f"left before it was entered: {stay!r}")
        gone = stay.left is not None and stay.left <= today
        end = min(today, last or today)
        if stay.entered <= today:
            days.append(((end - stay.entered).days, gone))
    return days


def at_risk(times: Sequence[tuple[float, bool]], mark: float) -> int:
    """How many were still in the stage, and in sight, just before ``mark``."""
    return sum(time >= mark for time, _ended in times)


def survival(times: Sequence[tuple[float, bool]], confidence: float = 0.95) -> tuple[Step, ...]:
    """The Kaplan-Meier curve of (time, True if it ended then, False if it was still going on).

    At equal times those who leave leave before those who are lost from sight.
    """
    z = float(norm.ppf((1 + confidence) / 2))
    share, spread = 1.0, 0.0
    steps = []
    for time in sorted({time for time, ended in times if ended}):
        risk = at_risk(times, time)
        ended = sum(gone and other == time for other, gone in times)
        share *= 1 - ended / risk
        if ended == risk:
            steps.append(Step(time, risk, ended, 0.0, None, None))
            break
        spread += ended / (risk * (risk - ended))
        error = share * math.sqrt(spread)
        steps.append(Step(time, risk, ended, share, error, _interval(share, spread, z)))
    return tuple(steps)


def _interval(share: float, spread: float, z: float) -> tuple[float, float]:
    """share^exp(±z·se), with se of log(-log share) by the delta method."""
    reach = math.exp(z * math.sqrt(spread) / abs(math.log(share)))
    return share**reach, share ** (1 / reach)


def quantile(steps: Sequence[Step], part: float) -> Quantile:
    """When the share still in the stage first falls to 1 - ``part`` or under.

    Its interval holds the times at which the curve's own interval does not rule that share out
    (Brookmeyer & Crowley, *Biometrics* 1982;38:29-41, from memory).
    """
    left = 1 - part + NOISE
    return Quantile(
        part,
        _first(step.weeks for step in steps if step.share <= left),
        _first(s.weeks for s in steps if s.interval is None or s.interval[0] <= left),
        _first(s.weeks for s in steps if s.interval is not None and s.interval[1] <= left),
    )


def _first(weeks: Iterable[float]) -> float | None:
    return next(iter(weeks), None)
