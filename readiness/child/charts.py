"""Small charts: the points, and where they lie in a square of 100 by 100.

A template draws them as SVG paths; all words stand beside the drawing.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.engine.clean_rate import read_clean
from readiness.engine.evidence import Evidence
from readiness.engine.gates import CleanGate, Gate, ReachGate
from readiness.engine.ladder import Ladder

# So many of the child's own latest days are drawn.
DAYS_DRAWN = 14
# Room for a dot above the highest value and below the lowest.
MARGIN = 6.0

Point = tuple[datetime.date, float]


@dataclass(frozen=True)
class Chart:
    """A line over days with a dot a day, and the height of what is asked.

    All paths are in a box of 100 by 100, time from left to right, more is higher.
    """

    line: str
    dots: tuple[str, ...]
    need: str
    first: datetime.date
    last: datetime.date


def chart_of(
    gate: Gate, evidence: Evidence, day: datetime.date, ladder: Ladder, surface: str | None
) -> Chart | None:
    """The gate's last days as a chart; None for a kind that has none, or under two days."""
    match gate:
        case CleanGate():
            points = sureness_points(gate, evidence, day, ladder, surface)
            return _chart(points, gate.rule.certainty, most=1.0)
        case ReachGate():
            points = value_points(gate, evidence, day, ladder)
            highest = max((value for _, value in points), default=0.0)
            return _chart(points, gate.at_least, most=1.1 * max(highest, gate.at_least))
    return None


def sureness_points(
    gate: CleanGate, evidence: Evidence, day: datetime.date, ladder: Ladder, surface: str | None
) -> list[Point]:
    """How sure the record was at the end of each of the last class days, and is on ``day``."""
    days = evidence.clean_days(gate.drill, ladder, day, gate.scope(surface))
    read_on = [entry[0] for entry in days[-DAYS_DRAWN:]]
    if read_on and read_on[-1] < day:
        read_on.append(day)
    return [(then, read_clean(days, then, gate.rule, ladder.decay).sureness) for then in read_on]


def value_points(
    gate: ReachGate, evidence: Evidence, day: datetime.date, ladder: Ladder
) -> list[Point]:
    """What each of the last days counts for: its best, or of a grade its second best."""
    return list(gate.day_values(evidence, ladder, day).items())[-DAYS_DRAWN:]


def _chart(points: Sequence[Point], need: float, most: float) -> Chart | None:
    if len(points) < 2:
        return None
    first, last = points[0][0], points[-1][0]
    span = (last - first).days or 1
    places = [(100 * (day - first).days / span, _height(value, most)) for day, value in points]
    line = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
    return Chart(
        line=line,
        dots=tuple(f"M{x:.1f} {y:.1f}h0" for x, y in places),
        need=f"M0 {_height(need, most):.1f}H100",
        first=first,
        last=last,
    )


def _height(value: float, most: float) -> float:
    return 100 - MARGIN - (100 - 2 * MARGIN) * min(value, most) / most
