"""From a text to glyphs: which typeface each part is set in, and its shaping by HarfBuzz."""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby, pairwise
from typing import NamedTuple

import uharfbuzz as hb
from django.conf import settings

from readiness.typesetting.faces import Face, Weight, face_for, faces

_LETTERS = {"Lu", "Ll", "Lt", "Lo"}
_MARKS = {"Mn", "Mc", "Me"}
# Marks by their place in the text, though Unicode calls them letters: am of Thai and of Lao.
_LIKE_MARKS = "\u0e33\u0eb3\u200c\u200d"
_JOINS_THE_NEXT = 9  # The combining class of a virama.


class Glyph(NamedTuple):
    """What is drawn, and the part of its run's text that it stands for, which begins at ``at`` of
    the text that was shaped. Sizes in thousandths of the typeface's own size."""

    number: int
    at: int
    text: str
    advance: int
    x: int
    y: int


@dataclass(frozen=True)
class Run:
    """Glyphs of one weight and one direction, from left to right, by their numbers, each with the
    room it takes; ``text`` begins at ``start``. placed: the same with all that is told of each;
    empty where a glyph stands for each letter, one after the other, as in most of a text. kerns:
    there, the places of those that are wider than the room they take, and by how much."""

    weight: Weight
    size: float
    level: int
    start: int
    text: str
    numbers: Sequence[int]
    advances: Sequence[int]
    placed: tuple[Glyph, ...]
    kerns: Sequence[tuple[int, int]]
    infos: Sequence[hb.GlyphInfo] = field(compare=False, repr=False)

    @property
    def glyphs(self) -> tuple[Glyph, ...]:
        plain = zip(self.numbers, self.text, self.advances, strict=False)
        return self.placed or tuple(
            Glyph(number, at, letter, advance, 0, 0)
            for at, (number, letter, advance) in enumerate(plain)
        )

    @property
    def width(self) -> float:
        """In thousandths of the size of the type around it."""
        return self.size * sum(self.advances)

    def part(self, start: int, end: int) -> "Run":
        """A part of its text: of its glyphs, or shaped anew where that makes a difference."""
        text = self.text[start:end]
        if self.placed or not (self._may_be_cut(start) and self._may_be_cut(end)):
            return _shaped(text, self.level, self.weight, self.size, start)
        cut = slice(start, end)
        return replace(
            self,
            start=start,
            text=text,
            numbers=self.numbers[cut],
            advances=self.advances[cut],
            kerns=[(at - start, wider) for at, wider in self.kerns if start <= at < end],
            infos=self.infos[cut],
        )

    def _may_be_cut(self, at: int) -> bool:
        unsafe = hb.GlyphFlags.UNSAFE_TO_BREAK
        return at in (0, len(self.infos)) or not self.infos[at].flags & unsafe


def clusters(text: str) -> list[str]:
    """Letters with what belongs to them: marks, and in Indic scripts the letters they join."""
    found: list[str] = []
    before = ""
    for character in text:
        is_mark = unicodedata.category(character) in _MARKS or character in _LIKE_MARKS
        joined = before and unicodedata.combining(before) == _JOINS_THE_NEXT
        if found and (is_mark or (joined and unicodedata.category(character) in _LETTERS)):
            found[-1] += character
        else:
            found.append(character)
        before = character
    return found


def choose_faces(text: str, names: Sequence[str]) -> list[Face]:
    """A typeface for each character. A word, or one of ``names``, is set in one if one has all
    of it; a space is of the same as what is before it."""
    if faces()[0].has(text):
        return [faces()[0]] * len(text)
    chosen: list[Face] = []
    longest_first = sorted(filter(None, names), key=len, reverse=True)
    for part in re.findall("|".join([*map(re.escape, longest_first), r"\S+", r"\s+"]), text):
        if part.isspace():
            chosen += [chosen[-1] if chosen else faces()[0]] * len(part)
            continue
        face = face_for(part)
        if face is not None:
            chosen += [face] * len(part)
            continue
        for cluster in clusters(part):
            chosen += [face_for(cluster) or faces()[0]] * len(cluster)
    return chosen


def runs(text: str, levels: Sequence[int], chosen: Sequence[Face], bold: bool) -> Iterator[Run]:
    """The text in parts of one direction, typeface and script, in the order of the text."""
    first = faces()[0]
    only_first = chosen.count(first) == len(chosen)
    if only_first and text and levels.count(levels[0]) == len(levels):
        yield _shaped(text, levels[0], first.weight(bold), first.size, 0)
        return
    scripts = [""] * len(text) if only_first else _scripts(text)
    keys = zip(levels, map(id, chosen), scripts, strict=True)
    start = 0
    for (level, _face, _script), part in groupby(keys):
        end = start + len(list(part))
        face = chosen[start]
        yield _shaped(text[start:end], level, face.weight(bold), face.size, start)
        start = end


def _scripts(text: str) -> list[str]:
    """The script of each letter, by its name in Unicode; what is no letter goes with the one
    before."""
    found, script = [], ""
    for character in text:
        if unicodedata.category(character) in _LETTERS:
            script = unicodedata.name(character, "").partition(" ")[0]
        found.append(script)
    return found


def _shaped(text: str, level: int, weight: Weight, size: float, start: int) -> Run:
    buffer = hb.Buffer()
    # Each glyph says which character it is for, even where it moved past another one.
    buffer.cluster_level = hb.BufferClusterLevel.CHARACTERS
    buffer.add_str(text)
    buffer.direction = "rtl" if level % 2 else "ltr"
    buffer.language = "und"
    buffer.guess_segment_properties()
    if buffer.script == "Hani":
        buffer.language = settings.LADDER_HAN
    hb.shape(weight.font, buffer)
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    numbers, starts = [info.codepoint for info in infos], [info.cluster for info in infos]
    advances = [each.x_advance for each in positions]
    offsets = [(each.x_offset, each.y_offset) for each in positions]
    placed: tuple[Glyph, ...] = ()
    widths = map(weight.width, numbers)
    differ = (width - advance for width, advance in zip(widths, advances, strict=True))
    kerns = [(at, wider) for at, wider in enumerate(differ) if wider]
    if min(advances) <= 0 or starts != list(range(len(text))) or set(offsets) != {(0, 0)}:
        takes_room = [advance > 0 for advance in advances]
        texts = _read_back(text, starts, takes_room, to_the_left=bool(level % 2))
        placed = tuple(
            Glyph(number, at, said, advance, *offset)
            for number, at, said, advance, offset in zip(
                numbers, starts, texts, advances, offsets, strict=True
            )
        )
    return Run(weight, size, level, start, text, numbers, advances, placed, kerns, infos)


def _read_back(
    text: str, starts: Sequence[int], takes_room: Sequence[bool], to_the_left: bool
) -> list[str]:
    """What each glyph stands for: of several for one character only one does, and a letter does
    for the marks on it too."""
    if all(takes_room) and starts == list(range(len(text))):
        return list(text)
    drawn: dict[int, int] = {}
    for index, start in enumerate(starts):
        if start not in drawn or takes_room[index]:
            drawn[start] = index
    texts = [""] * len(starts)
    for start, end in pairwise([*sorted(drawn), len(text)]):
        texts[drawn[start]] = text[start:end]
    order = range(len(starts))[:: -1 if to_the_left else 1]
    for letter, *marks in _letters_with_marks(order, takes_room):
        told = [index for index in (letter, *marks) if texts[index]]
        start, length = starts[letter], sum(len(texts[index]) for index in told)
        if all(start <= starts[index] < start + length for index in told):
            for index in marks:
                texts[index] = ""
            texts[letter] = text[start : start + length]
    # What runs to the left is read back from the last character to the first.
    return [each[::-1] for each in texts] if to_the_left else texts


def _letters_with_marks(order: Iterable[int], takes_room: Sequence[bool]) -> list[list[int]]:
    """Glyphs that take room, each with those after it that take none: they stand on it."""
    found: list[list[int]] = []
    for index in order:
        if takes_room[index] or not found:
            found.append([index])
        else:
            found[-1].append(index)
    return found
