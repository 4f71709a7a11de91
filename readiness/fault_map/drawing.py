"""The lines of the map, as SVG paths in a box of 100 by 1000 that is stretched over its columns.

All rows of one column are equally high, so where a row is follows from its place alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT = 100, 1000
LEVEL = 8


@dataclass(frozen=True)
class Line:
    """From one row to another; ``first``: to what is offered first."""

    path: str
    first: bool = True


def middle(place: int, rows: int) -> float:
    """How far down the middle of a row is, of so many rows; places count from 0."""
    return HEIGHT * (place + 0.5) / rows


def from_to(start: float, end: float) -> str:
    """Level where it leaves and where it comes in, so that it is seen which row it belongs to."""
    return f"M0 {start:.1f}H{LEVEL}L{WIDTH - LEVEL} {end:.1f}H{WIDTH}"


def fan(rows: int) -> tuple[Line, ...]:
    """From the one box at the start to every row."""
    return tuple(Line(from_to(HEIGHT / 2, middle(place, rows))) for place in range(rows))


def in_fewest_crossings(joins: Sequence[Sequence[str]]) -> list[str]:
    """What the rows are joined to, each once, put beside the middle of the rows it is joined to.

    ``joins``: of each row, in order. Of two in the same place the one named earlier comes first.
    """
    rows: dict[str, list[int]] = {}
    for place, keys in enumerate(joins):
        for key in keys:
            rows.setdefault(key, []).append(place)
    return sorted(rows, key=lambda key: sum(rows[key]) / len(rows[key]))


def lines(
    joins: Sequence[Sequence[str]], ends: Sequence[str], firsts: Sequence[str]
) -> tuple[Line, ...]:
    """From each row to each end that it is joined to; ``firsts``: of each row, which is offered
    first, or empty."""
    at = {key: middle(place, len(ends)) for place, key in enumerate(ends)}
    return tuple(
        Line(from_to(middle(place, len(joins)), at[key]), first=key == first)
        for place, (keys, first) in enumerate(zip(joins, firsts, strict=True))
        for key in keys
    )
