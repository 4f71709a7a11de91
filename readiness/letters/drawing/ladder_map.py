"""The map of the ladder, drawn: its longest way along the top, what else leads there below it, and
under its end a box that the child draws in.

Places are worked out from the parts and what each rests on, so that a studio's own ladder has its
map too.
"""

from collections.abc import Sequence
from functools import cached_property

from readiness.engine.reading import CLOSED, FOR_REVIEW, OPEN, PAUSED, RE_CHECK
from readiness.letters.beside.ladder_map import Stop
from readiness.letters.beside.page import Beside
from readiness.letters.drawing.blocks import Drawn, Group, Placed, Setter, Text, Type
from readiness.letters.drawing.paper import ACT, EDGE, HEED, INK, MM, SOFT, TRACK, WAIT
from readiness.typesetting.drawing import WHITE, Drawing, Point

RADIUS = 4.3 * MM
FROM_NODE = 0.9 * MM
RISE = 1.7 * MM
LOWER_LABEL = 40 * MM
LEAST_LABEL = 15 * MM
WALKED, DOTS = 5.0, 2.4
BOX_LEAST = 20 * MM
NAME = Type(8.5, 9.8, INK)
COLOURS = {OPEN: ACT, CLOSED: SOFT, FOR_REVIEW: WAIT, RE_CHECK: HEED, PAUSED: SOFT}
# The gate of the pages (static/floor/drawing/symbols.js): posts and bars, in a field of 30 by 28.
POSTS = (((5, 3), (5, 25)), ((25, 3), (25, 25)))
BARS: dict[str, Sequence[tuple[Point, Point]]] = {
    OPEN: (),
    CLOSED: (((5, 14), (25, 14)),),
    FOR_REVIEW: (((5, 19), (25, 9)),),
    RE_CHECK: (((5, 9), (11, 14)), ((11, 25), (20, 25))),
    PAUSED: (((5, 10), (25, 10)), ((5, 18), (25, 18))),
}
# The child has not come there.
_AHEAD = {CLOSED, FOR_REVIEW}
GATE_SCALE = 0.4


def longest_way(stops: Sequence[Stop]) -> list[int]:
    """The places of the longest way from a part that rests on nothing to the end."""
    ways: list[list[int]] = []
    for place, stop in enumerate(stops):
        before = [ways[need] for need in stop.needs if need < place]
        ways.append([*max(before, key=len, default=[]), place])
    return max(ways, key=len, default=[])


class MapSetter:
    """The map for one letter: ``above`` is the room for the name over its beginning."""

    def __init__(self, beside: Beside, setter: Setter, width: float, above: float) -> None:
        self._beside, self._setter, self._width, self._above = beside, setter, width, above
        self._stops = beside.stops
        self._upper = longest_way(beside.stops)
        self._lower = [n for n in range(len(beside.stops)) if n not in self._upper]

    @cached_property
    def _step(self) -> float:
        return (self._width - 2 * 11 * MM) / max(1, len(self._upper) - 1)

    @cached_property
    def _labels(self) -> list[tuple[Text, Text]]:
        """The name of each part, and its word."""
        return [self._label(place, stop) for place, stop in enumerate(self._stops)]

    def _label(self, place: int, stop: Stop) -> tuple[Text, Text]:
        width = LOWER_LABEL if place in self._lower else max(LEAST_LABEL, self._step - MM)
        bold = stop.state != CLOSED
        name = Type(NAME.size, NAME.leading, INK if bold else SOFT, bold)
        word = Type(NAME.size, NAME.leading, COLOURS[stop.state])
        return self._centred(stop.name, name, width), self._centred(stop.word, word, width)

    def _centred(self, text: str, kind: Type, width: float) -> Text:
        return self._setter.text(text, kind, width, along=0.5)

    def _label_height(self, places: Sequence[int]) -> float:
        return max((sum(text.height for text in self._labels[n]) for n in places), default=0)

    @cached_property
    def _first_above(self) -> int:
        """From this place of the upper way on, labels stand over it: the box is below."""
        return (len(self._upper) + 1) // 2

    @cached_property
    def _places(self) -> list[Point]:
        """Of each part from the lower corner where the map begins."""
        around = RADIUS + FROM_NODE
        lower = self._label_height(self._lower) + around if self._lower else RADIUS
        under = self._label_height(self._upper[1 : self._first_above])
        upper = under + around + (lower + around if self._lower else 0)
        first = max((lower + upper) / 2, self._label_height(self._upper[:1]) + around)
        found: list[Point] = [(0, 0)] * len(self._stops)
        for at, place in enumerate(self._upper):
            height = first if at == 0 else upper + RISE * (at - 1)
            found[place] = (11 * MM + at * self._step, height)
        for at, place in enumerate(self._lower):
            share = (at + 1) / (len(self._lower) + 1)
            found[place] = (11 * MM + share * self._step * self._first_above, lower)
        return found

    @cached_property
    def height(self) -> float:
        around = RADIUS + FROM_NODE
        upper = [self._places[place][1] for place in self._upper]
        over = self._label_height(self._upper[self._first_above :])
        beginning = upper[: max(2, self._first_above)]
        return max(upper[-1] + around + over, max(beginning) + around + self._above)

    def group(self, over: Sequence[Placed]) -> Group:
        """The map, with the name over its beginning."""
        drawing = Drawing(self.height)
        for place in range(len(self._stops)):
            self._draw_ways(drawing, place)
        for place, stop in enumerate(self._stops):
            self._draw_gate(drawing, self._places[place], stop.state)
        drawn = Drawn(drawing, self._width, self._beside.map_shows)
        parts = [*over, Placed(drawn, 0, 0), *self._placed_labels(), *self._box()]
        return Group(self.height, parts)

    def _draw_ways(self, drawing: Drawing, place: int) -> None:
        """Walked ways are drawn full: both of their ends are open to the child."""
        stop, end = self._stops[place], self._places[place]
        for need in stop.needs:
            start = self._places[need]
            level = need in self._upper[1:] and place in self._upper
            points = [start, end] if level else self._bent(start, end)
            walked = not _AHEAD & {stop.state, self._stops[need].state}
            draw = drawing.curve if len(points) == 4 else drawing.line
            if walked:
                draw(points, WALKED, ACT)
            else:
                draw(points, DOTS, TRACK, (0.01, 6))

    def _bent(self, start: Point, end: Point) -> list[Point]:
        """Up at once from the beginning, and at the last to where two ways meet; level between."""
        if end[1] < start[1]:
            middle = (start[0] + end[0]) / 2
            return [start, (middle, start[1]), (start[0], end[1]), end]
        if start == self._places[self._upper[0]]:
            return [start, (start[0], end[1]), (start[0], end[1]), end]
        late = start[0] + 0.9 * (end[0] - start[0])
        return [start, (late, start[1]), (end[0], start[1]), end]

    def _draw_gate(self, drawing: Drawing, centre: Point, state: str) -> None:
        drawing.circle(centre, RADIUS, 1.6 if state == CLOSED else 2.4, self._edge(state), WHITE)
        for line in (*POSTS, *BARS[state]):
            points = [
                (centre[0] + (x - 15) * GATE_SCALE, centre[1] - (y - 14) * GATE_SCALE)
                for x, y in line
            ]
            drawing.line(points, 1.5, COLOURS[state])

    def _edge(self, state: str) -> str:
        return TRACK if state == CLOSED else COLOURS[state]

    def _placed_labels(self) -> list[Placed]:
        found = []
        for place, texts in enumerate(self._labels):
            x, y = self._places[place]
            height = sum(text.height for text in texts)
            above = place in self._upper[self._first_above :]
            top = y + RADIUS + FROM_NODE + height if above else y - RADIUS - FROM_NODE
            for text in texts:
                start = min(max(x - text.width / 2, -3 * MM), self._width - text.width + 3 * MM)
                found.append(Placed(text, start, self.height - top))
                top -= text.height
        return found

    def _box(self) -> list[Placed]:
        """The child's own, where there is room under the end of the map."""
        rest = self._upper[self._first_above :]
        if not rest:
            return []
        start = self._places[rest[0]][0] + RADIUS
        top = min(self._places[place][1] for place in rest) - RADIUS - 3 * MM
        width = self._width - start
        if top < BOX_LEAST or width < BOX_LEAST:
            return []
        box = Drawing(top)
        box.box((0.5, 0.5), (width - 1, top - 1), 6, 0.9, EDGE, dashes=(3, 2.5))
        caption = self._setter.text(self._beside.own_drawing, Type(9, 11, SOFT), width - 12)
        down = self.height - top
        return [Placed(Drawn(box, width), start, down), Placed(caption, start + 6, down + 5)]
