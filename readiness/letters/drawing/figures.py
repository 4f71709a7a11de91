"""The three shapes for home as figures, with the limb lengths of static/floor/drawing/poses.js: in
hundredths of a child's height, above the floor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.letters.drawing.paper import INK, TRACK
from readiness.typesetting.drawing import Drawing, Point

HEAD = 6.0
LIMB, TRUNK, NOSE, GROUND = 4.0, 7.0, 2.6, 0.9


@dataclass(frozen=True)
class Figure:
    limbs: Sequence[Sequence[Point]]
    trunk: Sequence[Point]
    head: Point
    nose: Sequence[Point]
    # From where to where the floor is drawn, and how high the figure is.
    ground: Point
    height: float


FIGURES: Mapping[str, Figure] = {
    "hollow-hold": Figure(
        limbs=[
            [(-29.1, 9.1), (-45.4, 14.1), (-60.7, 18.8)],
            [(0, 4), (23.9, 9.5), (48.2, 15.1), (56.1, 16.5)],
        ],
        trunk=[(0, 4), (-15, 4), (-29.1, 9.1)],
        head=(-37.9, 13.8),
        nose=[(-37.4, 19.8), (-37.2, 22.2)],
        ground=(-64, 62),
        height=25,
    ),
    "arch-hold": Figure(
        limbs=[
            [(-28, 12.5), (-43.6, 19.2), (-58.3, 25.4)],
            [(0, 4), (24, 9.1), (47.7, 16.8), (55.2, 19.8)],
        ],
        trunk=[(0, 4), (-15, 5), (-28, 12.5)],
        head=(-37.8, 14.3),
        nose=[(-39.9, 8.6), (-40.7, 6.4)],
        ground=(-64, 62),
        height=28,
    ),
    "front-support": Figure(
        limbs=[
            [(0, 0), (0, 16), (0, 33)],
            [(28.8, 24.7), (52.4, 17.9), (76.4, 11), (78.4, 0)],
        ],
        trunk=[(0, 33), (28.8, 24.7)],
        head=(-9.6, 35.8),
        nose=[(-11.7, 30.1), (-12.5, 27.9)],
        ground=(-22, 86),
        height=42,
    ),
}
# The floor lies so far under what stands on it: half of a limb.
BELOW = 1.6


def draw_figure(drawing: Drawing, key: str, middle: float, scale: float) -> None:
    """A figure on the lower edge of the drawing, around a middle; ``scale``: points a hundredth of
    the child's height."""
    figure = FIGURES[key]
    first, last = figure.ground
    over = middle - scale * (first + last) / 2

    def at(points: Sequence[Point]) -> list[Point]:
        return [(over + scale * x, scale * (y + 2 * BELOW)) for x, y in points]

    drawing.line(at([(first, -BELOW), (last, -BELOW)]), GROUND, TRACK)
    for limb in figure.limbs:
        drawing.line(at(limb), scale * LIMB, INK)
    drawing.line(at(figure.trunk), scale * TRUNK, INK)
    (head,) = at([figure.head])
    drawing.circle(head, scale * HEAD, fill=INK)
    drawing.line(at(figure.nose), scale * NOSE, INK)
