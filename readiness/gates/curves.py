"""The drawn curves of a clean gate, and the table of the numbers behind them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.engine.trial.error_rates import WEEKS, ChanceCurve
from readiness.gates.luck import RATES, TERM, YEAR, Habit
from readiness.gates.words import error_words, share_words


@dataclass(frozen=True)
class Curve:
    """One curve in a box of 100 by 100; ``dots`` only for the values that are tried."""

    code: str
    path: str
    dots: tuple[str, ...] = ()


@dataclass(frozen=True)
class CurveChart:
    """The curves for one horizon. asked: the upright line at the rate the gate asks for."""

    weeks: int
    is_term: bool
    lines: tuple[Curve, ...]
    asked: str


@dataclass(frozen=True)
class NumbersRow:
    """Chances at one true rate: for each horizon, curve by curve, with standard errors in
    hundredths, "" for what is exact."""

    rate: str
    cells: tuple[tuple[str, str], ...]


def curve_charts(
    curves: Mapping[str, ChanceCurve], rules: Sequence[Habit], rate: float
) -> tuple[CurveChart, ...]:
    """A chart for the term and one for the year; the gate's own curves are drawn last."""
    return tuple(
        CurveChart(
            weeks=WEEKS[at],
            is_term=at == TERM,
            lines=(
                *(_curve(rule.code, rule.chances[at]) for rule in rules),
                *(_curve(code, curve.chances[at]) for code, curve in curves.items()),
            ),
            asked=f"M{_x(rate):.1f} 0V100",
        )
        for at in (TERM, YEAR)
    )


def number_rows(curves: Mapping[str, ChanceCurve], rules: Sequence[Habit]) -> list[NumbersRow]:
    """The table under the charts."""
    rows = []
    for column, rate in enumerate(RATES):
        cells: list[tuple[str, str]] = []
        for at in (TERM, YEAR):
            for curve in curves.values():
                error = error_words(curve.errors[at][column])
                cells.append((share_words(curve.chances[at][column]), error))
            cells += [(share_words(rule.chances[at][column]), "") for rule in rules]
        rows.append(NumbersRow(share_words(rate), tuple(cells)))
    return rows


def _x(rate: float) -> float:
    return 100 * (rate - RATES[0]) / (RATES[-1] - RATES[0])


def _curve(code: str, chances: Sequence[float]) -> Curve:
    points = [(_x(rate), 100 - 100 * share) for rate, share in zip(RATES, chances, strict=True)]
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    dots = tuple(f"M{x:.1f} {y:.1f}h0" for x, y in points) if code == "tried" else ()
    return Curve(code, path, dots)
