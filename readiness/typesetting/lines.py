"""Paragraphs in lines: broken in the order of reading, then put in the order of the page.

Where one may end is in ``breaks.py``. A word that is longer than a line is broken where the line
ends.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

from django.conf import settings

from readiness.typesetting.breaks import any_of, breaks
from readiness.typesetting.order import levels, line_levels, paragraph_level, visual_order
from readiness.typesetting.shaping import Run, choose_faces, clusters, runs

LEFT_TO_RIGHT, RIGHT_TO_LEFT = 0, 1
# UAX 9: what stands between these is ordered by itself.
_ISOLATE, _END_OF_ISOLATE = "\u2068", "\u2069"


def way_of(language: str) -> int:
    """Which way a language is written."""
    bidi = language.partition("-")[0] in settings.LANGUAGES_BIDI
    return RIGHT_TO_LEFT if bidi else LEFT_TO_RIGHT


@dataclass(frozen=True)
class Line:
    """What is drawn, from left to right, and what it says, in the order of reading."""

    text: str
    runs: tuple[Run, ...]
    # Left to right or right to left: the side it begins on.
    base: int

    @property
    def width(self) -> float:
        """In thousandths of the size of the type."""
        return sum(run.width for run in self.runs)


class Paragraph:
    """A text of one weight, shaped once for every width and size it may be set in.

    ``names``: each is set in one typeface, and keeps its own order among words that run the
    other way. ``base``: the way the paragraph runs; None for that of its first letter.
    """

    def __init__(
        self, text: str, bold: bool = False, names: Sequence[str] = (), base: int | None = 0
    ) -> None:
        about = settings.LADDER_FACES, settings.LADDER_HAN
        self._parts = [
            _part(line, bold, tuple(name for name in names if name and name in line), base, *about)
            for line in text.split("\n")
        ]

    def lines(self, width: float) -> list[Line]:
        """The lines for a width in thousandths of the size of the type."""
        return [line for part in self._parts for line in part.lines(width)]


@lru_cache(maxsize=400)
def _part(
    text: str, bold: bool, names: tuple[str, ...], base: int | None, _faces: str, _han: str
) -> "_Part":
    return _Part(text, bold, names, base)


class _Part:
    """A text without a line break of its own."""

    def __init__(self, text: str, bold: bool, names: Sequence[str], base: int | None) -> None:
        self.text, self.bold = text, bold
        self.base = paragraph_level(text) if base is None else base
        self.levels = _levels(text, names, self.base)
        self.faces = choose_faces(text, names)
        self.runs = list(runs(text, self.levels, self.faces, bold))
        self.breaks = breaks(text, names)
        self._lines: dict[float, list[Line]] = {}
        self.reach = [0.0, *accumulate(self._widths())]

    def _widths(self) -> list[float]:
        """What each character takes; where several share a glyph, the first takes all."""
        found = [0.0] * len(self.text)
        for run in self.runs:
            if not run.placed:
                found[run.start : run.start + len(run.text)] = [
                    run.size * advance for advance in run.advances
                ]
            for glyph in run.placed:
                found[run.start + glyph.at] += run.size * glyph.advance
        return found

    def lines(self, width: float) -> list[Line]:
        if width not in self._lines:
            self._lines[width] = list(self._broken(width))
        return self._lines[width]

    def _broken(self, width: float) -> Iterator[Line]:
        start = 0
        while start < len(self.text):
            end = self._last_that_fits(start, width) or self._within_word(start, width)
            yield self._line(start, end)
            start = end

    def _last_that_fits(self, start: int, width: float) -> int:
        last = 0
        for end in self.breaks[bisect_right(self.breaks, start) :]:
            if self._width(start, end) > width:
                break
            last = end
        return last

    def _width(self, start: int, end: int) -> float:
        while end > start and self.text[end - 1].isspace():
            end -= 1
        return self.reach[end] - self.reach[start]

    def _within_word(self, start: int, width: float) -> int:
        """Where a word ends a line that is longer than one: after one letter at least."""
        parts = clusters(self.text[start:])
        ends = [start + length for length in accumulate(map(len, parts))]
        return max((end for end in ends if self._width(start, end) <= width), default=ends[0])

    def _line(self, start: int, end: int) -> Line:
        text = self.text[start:end].rstrip()
        end = start + len(text)
        if text and len(self.runs) == 1 and self.runs[0].level == self.base:
            return Line(text, (self.runs[0].part(start, end),), self.base)
        found = line_levels(text, self.levels[start:end], self.base)
        parts = list(runs(text, found, self.faces[start:end], self.bold))
        order = visual_order([run.level for run in parts])
        return Line(text, tuple(parts[index] for index in order), self.base)


def _levels(text: str, names: Sequence[str], base: int) -> list[int]:
    """The levels of a paragraph, as if each name in it stood between isolates."""
    found = levels(text, base)
    pattern = any_of(names)
    if not pattern or not any(found):
        return found
    marked = re.sub(pattern, lambda name: f"{_ISOLATE}{name[0]}{_END_OF_ISOLATE}", text)
    of_marked = zip(marked, levels(marked, base), strict=True)
    return [level for each, level in of_marked if each not in (_ISOLATE, _END_OF_ISOLATE)]
