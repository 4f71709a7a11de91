"""The foot of a letter's page: the shapes for home, who signs, the cautions, and the slip."""

from collections.abc import Iterator

from readiness.letters.beside.growth import Grown
from readiness.letters.beside.page import Beside
from readiness.letters.beside.slip import Slip
from readiness.letters.drawing.blocks import (
    Block,
    Drawn,
    Group,
    Placed,
    Setter,
    Stack,
    Type,
    rule,
)
from readiness.letters.drawing.figures import BELOW, FIGURES, draw_figure
from readiness.letters.drawing.paper import ACT, BAND, EDGE, INK, SOFT
from readiness.letters.letter import Letter
from readiness.letters.sections import Section
from readiness.typesetting.drawing import WHITE, Drawing

BODY = Type(11, 14)
HEADING = Type(12.5, 16, ACT, bold=True, tag="H2")
SMALL = Type(9, 11)
SOFT_SMALL = Type(9, 11, SOFT)
OF_HANDS = Type(8.8, 10.4)
NAME_OF_SHAPE = Type(9.5, 12, INK, bold=True)
# The band reaches so far beyond the text, and so far over and under it.
BAND_WIDER, BAND_INSIDE = 8.0, 6.0
FIGURE_SCALE = 0.78
SIGNATURE_ROOM = 18.0
# The share of the width of the signatures, and in the band that of the heading.
SIGNATURES_WIDE, HEADING_WIDE = 0.48, 0.25
TICK = 9.0


def at_home(beside: Beside, section: Section, setter: Setter, width: float) -> Group:
    """A band with the shapes as figures, beside the heading."""
    stack = Stack().add(BAND_INSIDE, _shapes(beside, section, setter, width), 2)
    for paragraph in section.paragraphs:
        stack.add(setter.text(paragraph, BODY, width))
    stack.add(BAND_INSIDE - 1)
    band = Drawing(stack.height)
    band.box((0, 0), (width + 2 * BAND_WIDER, stack.height), 8, fill=BAND)
    adorned = Placed(Drawn(band, width + 2 * BAND_WIDER), -BAND_WIDER, 0)
    return Group(stack.height, [adorned, Placed(stack, 0, 0)])


def _shapes(beside: Beside, section: Section, setter: Setter, width: float) -> Block:
    if not beside.shapes:
        return setter.text(section.heading, HEADING, width)
    heading = setter.text(section.heading, HEADING, HEADING_WIDE * width)
    figures = _figures(beside, setter, (1 - HEADING_WIDE) * width)
    parts = [Placed(heading, 0, 0), Placed(figures, HEADING_WIDE * width, 0)]
    return Group(max(heading.height, figures.height), parts)


def _figures(beside: Beside, setter: Setter, width: float) -> Group:
    wide = width / len(beside.shapes)
    drawn_height = FIGURE_SCALE * (max(FIGURES[each.key].height for each in beside.shapes) + BELOW)
    parts, labels = [], []
    for at, shape in enumerate(beside.shapes):
        drawing = Drawing(drawn_height)
        draw_figure(drawing, shape.key, wide / 2, FIGURE_SCALE)
        labels.append(setter.text(shape.name, NAME_OF_SHAPE, wide - 8, along=0.5))
        parts.append(Placed(Drawn(drawing, wide, shape.name), at * wide, 0))
        parts.append(Placed(labels[-1], at * wide + 4, drawn_height + 2))
    return Group(drawn_height + 2 + max(label.height for label in labels), parts)


def end(letter: Letter, setter: Setter, width: float) -> Stack:
    """Where and when to ask; a line for whoever writes and one for a director, and beside them the
    cautions."""
    stack = Stack()
    if letter.questions:
        stack.add(setter.text(letter.questions, BODY, width), 4)
    signed = _signatures(letter, setter, SIGNATURES_WIDE * width)
    told = setter.text(letter.cautions, SOFT_SMALL, (0.96 - SIGNATURES_WIDE) * width)
    beside = [Placed(signed, 0, 0), Placed(told, (SIGNATURES_WIDE + 0.04) * width, 2)]
    return stack.add(Group(max(signed.height, told.height + 2), beside))


def _signatures(letter: Letter, setter: Setter, width: float) -> Group:
    """Under the greeting beside each other, or below where a name is too long for that."""
    half = 0.48 * width
    signed = max(setter.text(t, SMALL, width).widest for t in (letter.sender.coach, letter.signs))
    beside = bool(letter.beside.director) and signed <= half
    regards = setter.text(letter.regards, BODY, width)
    wide, down = half if beside else width, regards.height + SIGNATURE_ROOM
    writer = Stack().add(rule(half, INK), 2, setter.text(letter.sender.coach, SMALL, wide))
    writer.add(setter.text(letter.signs, SOFT_SMALL, wide))
    parts = [Placed(regards, 0, 0), Placed(writer, 0, down)]
    height = down + writer.height
    if letter.beside.director:
        name = setter.text(letter.beside.director, SMALL, half)
        director = Stack().add(rule(half, INK), 2, name)
        start, lower = (width - half, down) if beside else (0, height + SIGNATURE_ROOM)
        parts.append(Placed(director, start, lower))
        height = max(height, lower + director.height)
    return Group(height, parts)


def slip(letter: Letter, setter: Setter, width: float) -> Stack:
    """Under a line to cut along; nothing where the letter has no slip."""
    stack, told = Stack(), letter.beside.slip
    if told is None:
        return stack
    stack.add(rule(width, EDGE, 0.9, (4, 4)), 4)
    stack.add(setter.text(told.title, Type(11, 14, INK, bold=True, tag="H2"), width), 1)
    stack.add(setter.text(told.hands, OF_HANDS, width), 1)
    if told.on_record:
        stack.add(setter.text(told.on_record, Type(9, 11, INK, bold=True), width))
    stack.add(3, _answers(told, setter, width), 11, _to_sign(told, setter, width))
    return stack


def _answers(told: Slip, setter: Setter, width: float) -> Group:
    """Each with a box to tick: that it was read; yes, or no."""
    read = setter.text(told.read, Type(10, 13, INK, bold=True), 0.34 * width)
    question = setter.text(told.question, Type(10, 13, INK, bold=True), 0.26 * width, along=1)
    yes = setter.text(told.yes, Type(10, 13, INK, bold=True), 0.1 * width)
    no = setter.text(told.no, Type(10, 13, INK, bold=True), 0.1 * width)
    parts: list[Placed] = []
    for start, text, ticked in (
        (0.0, read, told.read),
        (0.42 * width, question, ""),
        (0.71 * width, yes, f"{told.question} {told.yes}"),
        (0.86 * width, no, f"{told.question} {told.no}"),
    ):
        if ticked:
            parts.append(Placed(_tick_box(ticked), start, 2.5))
        parts.append(Placed(text, start + (TICK + 5 if ticked else 0), 0))
    return Group(max(part.block.height for part in parts), parts)


def _tick_box(says: str) -> Drawn:
    box = Drawing(TICK)
    box.box((0.5, 0.5), (TICK - 1, TICK - 1), 1, 1, INK, WHITE)
    return Drawn(box, TICK, f"☐ {says}")


def _to_sign(told: Slip, setter: Setter, width: float) -> Group:
    parts: list[Placed] = []
    heights = []
    for start, wide, name in (
        (0.0, 0.38, told.name),
        (0.42, 0.18, told.date),
        (0.64, 0.36, told.signature),
    ):
        block: list[Block] = [
            rule(wide * width, INK),
            setter.text(name, SOFT_SMALL, wide * width),
        ]
        stack = Stack().add(*block)
        heights.append(stack.height)
        parts.append(Placed(stack, start * width, 0))
    return Group(max(heights), parts)


def growth(beside: Beside, setter: Setter, width: float, drawn: int) -> Iterator[Block]:
    """A heading, and for each hold its sentence; the first so many over two beams: then and now."""
    if beside.grown:
        yield setter.text(beside.has_grown, HEADING, width)
    for at, each in enumerate(beside.grown):
        stack = Stack().add(setter.text(each.said, BODY, width))
        if at < drawn:
            stack.add(3, *_beams(each, setter, width))
        yield stack


def _beams(each: Grown, setter: Setter, width: float) -> Iterator[Group]:
    aside, long = 0.26 * width, 0.74 * width
    beams = ((each.month, each.then, EDGE), (each.now_said, each.now, ACT))
    for said, seconds, colour in beams:
        label = setter.text(said, SOFT_SMALL, aside)
        beam = Drawing(6)
        beam.box((0, 0), (long * seconds / each.now, 6), 2, fill=colour)
        shown = Drawn(beam, long, f"{each.drill}: {seconds}")
        yield Group(label.height, [Placed(label, 0, 0), Placed(shown, aside, 3)])
