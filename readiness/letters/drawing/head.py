"""The head of a letter's page: who writes, the child's name, the map, a box to draw in, and the
coach's own sentence."""

from readiness.letters.drawing.blocks import Drawn, Group, Placed, Setter, Stack, Text, Type, rule
from readiness.letters.drawing.ladder_map import MapSetter
from readiness.letters.drawing.paper import ACT, INK, MM, SOFT
from readiness.letters.letter import Letter
from readiness.typesetting.drawing import Drawing

STUDIO = Type(10.5, 14, INK, bold=True)
PLACE = Type(10.5, 14, SOFT)
TITLE = Type(11, 14, SOFT)
# The name's largest size, its least, and within what width it is set on one line.
LARGEST, LEAST, NAME_WIDE = 34, 18, 100 * MM
# The coach's own sentence: large, less large, and as the rest; the most lines of the first two.
OWN = ((1, Type(15, 20)), (2, Type(12.5, 16.5)))
BAR = 3.0
FROM_BAR = 12.0
BODY = Type(11, 14)


def head(letter: Letter, setter: Setter, width: float) -> Stack:
    """All above the two columns."""
    stack = Stack().add(_from_whom(letter, setter, width), 3, rule(width, SOFT), 6)
    stack.add(*_named(letter, setter, width))
    stack.add(6, setter.text(letter.greeting, BODY, width))
    if letter.own:
        stack.add(4, _own(letter, setter, width))
    return stack.add(9)


def _from_whom(letter: Letter, setter: Setter, width: float) -> Group:
    """The studio, and after it on the same line hall and date; below it if that is too long."""
    studio = setter.text(letter.sender.studio, STUDIO, width)
    place = setter.text(letter.head, PLACE, width)
    before = studio.widest + 2 * MM if studio.lines else 0
    if len(studio.lines) <= 1 and len(place.lines) == 1 and before + place.widest <= width:
        place = setter.text(letter.head, PLACE, width - before)
        return Group(STUDIO.leading, [Placed(studio, 0, 0), Placed(place, before, 0)])
    parts = [Placed(studio, 0, 0), Placed(place, 0, studio.height)]
    return Group(studio.height + place.height, parts)


def _named(letter: Letter, setter: Setter, width: float) -> list[Group | Text]:
    called = letter.beside.called
    if not called:
        return [setter.text(letter.title, Type(15, 19, INK, bold=True, tag="H1"), width)]
    title = setter.text(letter.title, TITLE, NAME_WIDE)
    name = setter.text(called, _large(setter, called), NAME_WIDE)
    if not letter.beside.stops:
        return [title, name]
    above = title.height + name.height
    drawn = MapSetter(letter.beside, setter, width, above)
    return [drawn.group([Placed(title, 0, 0), Placed(name, 0, title.height)])]


def _large(setter: Setter, name: str) -> Type:
    """The largest size at which the name stays on one line, or the least."""
    for size in range(LARGEST, LEAST - 1, -1):
        kind = Type(size, 1.16 * size, INK, bold=True, tag="H1")
        if len(setter.lines(name, kind, NAME_WIDE)) == 1:
            break
    return kind


def _own(letter: Letter, setter: Setter, width: float) -> Group:
    wide = width - FROM_BAR
    set_large = ((most, setter.own_text(letter.own, kind, wide)) for most, kind in OWN)
    fits = (text for most, text in set_large if len(text.lines) <= most)
    text = next(fits, None) or setter.own_text(letter.own, BODY, wide)
    bar = Drawing(text.height)
    bar.line([(BAR / 2, 2), (BAR / 2, text.height - 2)], BAR, ACT)
    return Group(text.height, [Placed(Drawn(bar, BAR), 0, 0), Placed(text, FROM_BAR, 0)])
