"""Lines and shapes for a page, as operators of ISO 32000-1, section 8.5."""

from collections.abc import Sequence
from functools import cache

from readiness.typesetting.objects import number, point

BLACK = "#000000"
WHITE = "#ffffff"
# How far the two points in the middle of a curve lie from its ends, for a quarter of a circle.
_QUARTER = 0.5523

Point = tuple[float, float]


@cache
def rgb(colour: str) -> str:
    """A colour written as #rrggbb, in parts of one."""
    return " ".join(number(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))


class Drawing:
    """Drawn from the lower corner on the side where lines of text begin, in points."""

    def __init__(self, height: float) -> None:
        self.height = height
        self.operators: list[str] = []

    def line(
        self,
        points: Sequence[Point],
        width: float,
        colour: str = BLACK,
        dashes: Sequence[float] = (),
    ) -> None:
        """Points that are joined, with round ends. dashes: so much drawn, so much left out."""
        self._path(_joined(points), width, colour, dashes)

    def curve(
        self,
        points: Sequence[Point],
        width: float,
        colour: str = BLACK,
        dashes: Sequence[float] = (),
    ) -> None:
        """From the first point to the last, bent toward the two between them."""
        start, *rest = points
        path = f"{_at(start)} m {' '.join(map(_at, rest))} c"
        self._path(path, width, colour, dashes)

    def circle(
        self, centre: Point, radius: float, width: float = 0, colour: str = BLACK, fill: str = ""
    ) -> None:
        x, y = centre
        self._shape(_rounded(x - radius, y - radius, 2 * radius, 2 * radius, radius), fill)
        if width:
            self._path(
                _rounded(x - radius, y - radius, 2 * radius, 2 * radius, radius), width, colour
            )

    def box(
        self,
        corner: Point,
        size: Point,
        radius: float = 0,
        width: float = 0,
        colour: str = BLACK,
        fill: str = "",
        dashes: Sequence[float] = (),
    ) -> None:
        """A rectangle from its lower corner, filled, drawn around, or both."""
        path = _rounded(*corner, *size, radius)
        self._shape(path, fill)
        if width:
            self._path(path, width, colour, dashes)

    def _shape(self, path: str, fill: str) -> None:
        if fill:
            self.operators += [f"{rgb(fill)} rg", path, "f"]

    def _path(self, path: str, width: float, colour: str, dashes: Sequence[float] = ()) -> None:
        pattern = " ".join(map(number, dashes))
        self.operators += [
            f"{rgb(colour)} RG {number(width)} w 1 J 1 j [{pattern}] 0 d",
            path,
            "S",
        ]


def _joined(points: Sequence[Point]) -> str:
    first, *rest = points
    return " ".join([f"{_at(first)} m", *(f"{_at(each)} l" for each in rest)])


def _rounded(left: float, bottom: float, width: float, height: float, radius: float) -> str:
    """A rectangle with round corners; with a radius of half its sides it is a circle."""
    right, top, off = left + width, bottom + height, radius * (1 - _QUARTER)
    return " ".join(
        [
            f"{point(left + radius, bottom)} m {point(right - radius, bottom)} l",
            _bend((right - off, bottom), (right, bottom + off), (right, bottom + radius)),
            f"{point(right, top - radius)} l",
            _bend((right, top - off), (right - off, top), (right - radius, top)),
            f"{point(left + radius, top)} l",
            _bend((left + off, top), (left, top - off), (left, top - radius)),
            f"{point(left, bottom + radius)} l",
            _bend((left, bottom + off), (left + off, bottom), (left + radius, bottom)),
            "h",
        ]
    )


def _bend(*points: Point) -> str:
    return f"{' '.join(map(_at, points))} c"


def _at(place: Point) -> str:
    return point(*place)
