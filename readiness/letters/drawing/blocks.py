"""Blocks of a page: how high each is, and how it is drawn below a place on the page."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from readiness.letters.drawing.paper import INK
from readiness.letters.letter import Letter
from readiness.typesetting.document import Box, Page
from readiness.typesetting.drawing import Drawing
from readiness.typesetting.lines import Line, Paragraph, way_of


class Block(Protocol):
    """``start``: how far in from the side where lines begin; ``top``: from the foot of the page."""

    @property
    def height(self) -> float: ...

    def draw(self, page: Page, start: float, top: float) -> None: ...


@dataclass(frozen=True)
class Type:
    """How a text is set; sizes in points."""

    size: float
    leading: float
    colour: str = INK
    bold: bool = False
    tag: str = "P"


class Setter:
    """Sets texts of one letter: its names keep together, its language says which way they run. Each
    text is shaped once for all sizes."""

    def __init__(self, letter: Letter) -> None:
        self._names, self._way = letter.names, way_of(letter.language)
        self._shaped: dict[tuple[str, bool, int | None], Paragraph] = {}

    def lines(
        self, text: str, kind: Type, width: float, by_first_letter: bool = False
    ) -> list[Line]:
        key = text, kind.bold, None if by_first_letter else self._way
        if key not in self._shaped:
            self._shaped[key] = Paragraph(text, kind.bold, self._names, key[2])
        return self._shaped[key].lines(width * 1000 / kind.size)

    def text(self, text: str, kind: Type, width: float, along: float = 0) -> "Text":
        return Text(self.lines(text, kind, width), kind, width, along)

    def own_text(self, text: str, kind: Type, width: float) -> "Text":
        """Somebody's own words: they run as their first letter does."""
        return Text(self.lines(text, kind, width, by_first_letter=True), kind, width)


@dataclass(frozen=True)
class Text:
    lines: Sequence[Line]
    kind: Type
    width: float
    along: float = 0

    @property
    def height(self) -> float:
        return len(self.lines) * self.kind.leading

    @property
    def widest(self) -> float:
        return max((line.width for line in self.lines), default=0) * self.kind.size / 1000

    @property
    def needs_the_next(self) -> bool:
        """A heading, or what ends with a colon: it is not the last of a column."""
        return self.kind.tag != "P" or (bool(self.lines) and self.lines[-1].text.endswith(":"))

    def draw(self, page: Page, start: float, top: float) -> None:
        kind = self.kind
        box = Box(start, top, self.width)
        page.text(kind.tag, self.lines, box, kind.size, kind.leading, kind.colour, self.along)


@dataclass(frozen=True)
class Drawn:
    """A drawing; ``shows``: what is in it in words, or nothing where it only adorns."""

    drawing: Drawing
    width: float
    shows: str = ""

    @property
    def height(self) -> float:
        return self.drawing.height

    def draw(self, page: Page, start: float, top: float) -> None:
        page.draw(self.drawing, Box(start, top, self.width), self.shows)


@dataclass(frozen=True)
class Placed:
    """A block somewhere in a group: so far in, and so far down."""

    block: Block
    start: float
    down: float


@dataclass(frozen=True)
class Group:
    """Blocks that keep their places beside each other, drawn in the order of reading."""

    height: float
    parts: Sequence[Placed]

    def draw(self, page: Page, start: float, top: float) -> None:
        for part in self.parts:
            part.block.draw(page, start + part.start, top - part.down)


@dataclass
class Stack:
    """Blocks below each other."""

    parts: list[Block] = field(default_factory=list)

    @property
    def height(self) -> float:
        return height(self.parts)

    def add(self, *blocks: Block | float) -> "Stack":
        """Blocks, and how much is free between them."""
        self.parts += [Free(each) if isinstance(each, int | float) else each for each in blocks]
        return self

    def draw(self, page: Page, start: float, top: float) -> None:
        for part in self.parts:
            part.draw(page, start, top)
            top -= part.height


@dataclass(frozen=True)
class Free:
    height: float

    def draw(self, page: Page, start: float, top: float) -> None:
        """Nothing."""


def height(blocks: Iterable[Block]) -> float:
    return sum(block.height for block in blocks)


def rule(width: float, colour: str, thickness: float = 0.75, dashes: Sequence[float] = ()) -> Drawn:
    drawing = Drawing(thickness)
    drawing.line([(0, thickness / 2), (width, thickness / 2)], thickness, colour, dashes)
    return Drawn(drawing, width)
