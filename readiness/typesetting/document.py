"""A tagged PDF: what is read is in a tree of headings, paragraphs and figures, these with what they
show in words; what adorns is marked so.

Each document has faces of its own, so that two can be made at the same time. Terms are those of
ISO 32000-1, section 14.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from readiness.typesetting.drawing import BLACK, Drawing, rgb
from readiness.typesetting.embedding import Embedded
from readiness.typesetting.faces import Weight
from readiness.typesetting.lines import RIGHT_TO_LEFT, Line, way_of
from readiness.typesetting.objects import Name, Objects, Reference, Value, number, point, utf_16
from readiness.typesetting.shaping import Glyph, Run
from readiness.typesetting.spoken import spoken


@dataclass(frozen=True)
class Box:
    """Where a block of text stands on its page, in points: how far in from the side where lines of
    the document begin, and how far up."""

    start: float
    top: float
    width: float


class Font(NamedTuple):
    """A weight in a document, by the name that its pages call it."""

    name: str
    reference: Reference
    embedded: Embedded


@dataclass(frozen=True)
class Block:
    """Its tag; what it says where the page holds it in another order than it is read in; of a
    figure what it shows, in words, and its corners."""

    tag: str
    said: str = ""
    shows: str = ""
    corners: tuple[float, ...] = ()


class Document:
    """Made page after page; ``day`` is the day that it is dated."""

    def __init__(
        self, title: str, author: str, subject: str, language: str, day: datetime.date
    ) -> None:
        self._objects = Objects()
        self._about = {"Title": title, "Author": author, "Subject": subject}
        self._language, self._day = language, day
        self.way = way_of(language)
        self._fonts: dict[str, Font] = {}
        self._pages: list[Page] = []
        self._catalogue, self._tree = self._objects.reserve(), self._objects.reserve()
        self._all_pages, self._root = self._objects.reserve(), self._objects.reserve()

    def add_page(self, width: float, height: float) -> "Page":
        page = Page(self, self._objects.reserve(), width, height)
        self._pages.append(page)
        return page

    def font(self, weight: Weight) -> Font:
        if weight.name not in self._fonts:
            name = f"F{len(self._fonts)}"
            self._fonts[weight.name] = Font(name, self._objects.reserve(), Embedded(weight))
        return self._fonts[weight.name]

    def file(self) -> bytes:
        """The finished file."""
        for at, font in enumerate(self._fonts.values()):
            font.embedded.write(self._objects, font.reference, _prefix(at))
        for at, page in enumerate(self._pages):
            self._write_page(at, page)
        self._write_tags()
        self._objects.set(
            self._all_pages,
            {
                "Type": Name("Pages"),
                "Kids": [page.reference for page in self._pages],
                "Count": len(self._pages),
            },
        )
        self._objects.set(
            self._catalogue,
            {
                "Type": Name("Catalog"),
                "Pages": self._all_pages,
                "Lang": self._language.encode(),
                "MarkInfo": {"Marked": True},
                "StructTreeRoot": self._tree,
                "ViewerPreferences": {"DisplayDocTitle": True},
            },
        )
        about = {key: utf_16(value) for key, value in self._about.items()}
        dated = f"D:{self._day:%Y%m%d}000000Z".encode()
        info = self._objects.add({**about, "CreationDate": dated, "ModDate": dated})
        return self._objects.file(self._catalogue, info)

    def _write_page(self, at: int, page: "Page") -> None:
        fonts = {each.name: each.reference for each in self._fonts.values()}
        self._objects.set(
            page.reference,
            {
                "Type": Name("Page"),
                "Parent": self._all_pages,
                "MediaBox": [0, 0, page.width, page.height],
                "Resources": {"Font": {name: fonts[name] for name in sorted(page.fonts)}},
                "Contents": self._objects.add_stream("\n".join(page.content).encode("latin-1")),
                "StructParents": at,
                "Tabs": Name("S"),
            },
        )

    def _write_tags(self) -> None:
        everything: list[Value] = []
        by_page: list[Value] = []
        for at, page in enumerate(self._pages):
            blocks = [self._tag(page, place) for place in range(len(page.blocks))]
            everything += blocks
            by_page += [at, self._objects.add(blocks)]
        whole: dict[str, Value] = {
            "Type": Name("StructElem"),
            "S": Name("Document"),
            "P": self._tree,
        }
        self._objects.set(self._root, {**whole, "K": everything})
        self._objects.set(
            self._tree,
            {
                "Type": Name("StructTreeRoot"),
                "K": [self._root],
                "ParentTree": {"Nums": by_page},
                "ParentTreeNextKey": len(self._pages),
            },
        )

    def _tag(self, page: "Page", place: int) -> Reference:
        block = page.blocks[place]
        element: dict[str, Value] = {
            "Type": Name("StructElem"),
            "S": Name(block.tag),
            "P": self._root,
            "Pg": page.reference,
            "K": place,
        }
        if block.said:
            element["ActualText"] = utf_16(block.said)
        if block.shows:
            element["Alt"] = utf_16(block.shows)
            element["A"] = {"O": Name("Layout"), "BBox": block.corners}
        return self._objects.add(element)


class Page:
    """A page that is drawn on: each block of text is one piece of marked content."""

    def __init__(
        self, document: Document, reference: Reference, width: float, height: float
    ) -> None:
        self.reference, self.width, self.height = reference, width, height
        self.content: list[str] = []
        self.blocks: list[Block] = []
        self.fonts: set[str] = set()
        self._document = document

    def text(
        self,
        tag: str,
        lines: Sequence[Line],
        box: Box,
        size: float,
        leading: float,
        colour: str = BLACK,
        along: float = 0,
    ) -> None:
        """Lines from the top of the box down, each beginning on its own side. along: the share of
        what a line leaves free that stands before it: .5 in the middle, 1 at the end."""
        self.content += [f"/{tag} <</MCID {len(self.blocks)}>> BDC", f"{rgb(colour)} rg", "BT"]
        turned = any(run.level % 2 for line in lines for run in line.runs)
        self.blocks.append(Block(tag, " ".join(line.text for line in lines) if turned else ""))
        for at, line in enumerate(lines):
            free = box.width - line.width * size / 1000
            before = 1 - along if line.base == RIGHT_TO_LEFT else along
            left = self._left(box.start, box.width) + before * free
            baseline = box.top - size - at * leading
            self._draw(line, left, baseline, size)
        self.content += ["ET", "EMC"]

    def draw(self, drawing: Drawing, box: Box, shows: str = "") -> None:
        """A drawing under the top of the box; without words for what it shows it is for the eye
        alone. Turned about where the document runs from right to left."""
        left, bottom = self._left(box.start, box.width), box.top - drawing.height
        if shows:
            self.content.append(f"/Figure <</MCID {len(self.blocks)}>> BDC")
            corners = (left, bottom, left + box.width, box.top)
            self.blocks.append(Block("Figure", shows=shows, corners=corners))
        else:
            self.content.append("/Artifact BMC")
        turned = self._document.way == RIGHT_TO_LEFT
        across, origin = (-1, left + box.width) if turned else (1, left)
        moved = f"{across} 0 0 1 {point(origin, bottom)} cm"
        self.content += ["q", moved, *drawing.operators, "Q", "EMC"]

    def _left(self, start: float, width: float) -> float:
        turned = self._document.way == RIGHT_TO_LEFT
        return self.width - start - width if turned else start

    def _draw(self, line: Line, left: float, baseline: float, size: float) -> None:
        pen = _Pen(left, baseline)
        if not (line.base or any(run.placed or run.level for run in line.runs)):
            for run in line.runs:
                pen.draw_plain(run, self._font(run), size * run.size)
            self.content += pen.finished()
            return
        for part in spoken(line, self._document.way):
            if part.said:
                said = utf_16(part.said).hex()
                pen.operators.append(f"/Span <</ActualText <{said}>>> BDC")
            for run, glyph in part.glyphs:
                pen.draw(glyph, self._font(run), size * run.size)
            pen.pause()
            if part.said:
                pen.operators.append("EMC")
        self.content += pen.finished()

    def _font(self, run: Run) -> Font:
        font = self._document.font(run.weight)
        self.fonts.add(font.name)
        return font


class _Pen:
    """Draws glyphs along a line. Those that stand for no letter, such as dots of one, come last:
    programs that read the file back would end a word at them."""

    def __init__(self, left: float, baseline: float) -> None:
        self.operators: list[str] = []
        self._at, self._baseline = left, baseline
        # Where the file has the pen, if not here; what is shown next; the typeface in use.
        self._elsewhere = True
        self._shown = ""
        self._font = ""
        self._last: list[tuple[str, str]] = []

    def draw(self, glyph: Glyph, font: Font, size: float) -> None:
        code, moved = font.embedded.code(glyph.number, glyph.text), glyph.x or glyph.y
        place = (self._at + glyph.x * size / 1000, self._baseline + glyph.y * size / 1000)
        self._at += glyph.advance * size / 1000
        if not glyph.text and not glyph.advance:
            self._last.append((_set(font, size), f"{_moved_to(*place)} ({code}) Tj"))
            return
        self._take(font, size)
        if moved or self._elsewhere:
            self._go_to(*place)
        self._shown += code
        if moved:
            self.pause()
            self._elsewhere = True
        elif wider := font.embedded.weight.width(glyph.number) - glyph.advance:
            self._shown += f"){wider}("

    def draw_plain(self, run: Run, font: Font, size: float) -> None:
        """A glyph for each letter, one after the other."""
        self._take(font, size)
        if self._elsewhere:
            self._go_to(self._at, self._baseline)
        self._at += sum(run.advances) * size / 1000
        self._shown += font.embedded.codes(run)

    def _take(self, font: Font, size: float) -> None:
        if (taken := _set(font, size)) != self._font:
            self.pause()
            self.operators.append(taken)
            self._font = taken

    def _go_to(self, left: float, height: float) -> None:
        self.pause()
        self.operators.append(_moved_to(left, height))
        self._elsewhere = False

    def pause(self) -> None:
        """Whatever was gathered is shown."""
        if self._shown:
            self.operators.append(f"[({self._shown})] TJ")
        self._shown = ""

    def finished(self) -> list[str]:
        self.pause()
        for font, shown in self._last:
            if font != self._font:
                self.operators.append(font)
                self._font = font
            self.operators.append(shown)
        return self.operators


def _set(font: Font, size: float) -> str:
    return f"/{font.name} {number(size)} Tf"


def _moved_to(left: float, height: float) -> str:
    return f"1 0 0 1 {point(left, height)} Tm"


def _prefix(at: int) -> str:
    """Six letters before a face's name say that it is a part of it."""
    return f"LADD{chr(ord('A') + at // 26)}{chr(ord('A') + at % 26)}"
