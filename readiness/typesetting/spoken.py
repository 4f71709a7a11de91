"""What the parts of a line say, for programs that read the file back.

A glyph is read back as its own letters. Where glyphs stand in another order than their letters,
as a vowel does that is drawn before its consonant, they are given together with the text they
stand for (ActualText). Letters from right to left need none: programs turn them back themselves.
But in a text from left to right they do so between two words of that way, whatever stands there:
so what has no way of its own is given with a mark of direction on both sides, and a name with a
number or a hyphen in it, which they cannot turn back, in the order of reading with a mark after
each letter.
"""

import unicodedata
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from readiness.typesetting.lines import LEFT_TO_RIGHT, Line
from readiness.typesetting.shaping import Glyph, Run

# Of a way to the right and of one to the left.
_MARKS = ("\u200e", "\u200f")
_HAS_A_WAY = {"L", "R", "AL", "EN", "AN"}
# What is taken for a part of a number.
_OF_NUMBERS = {"EN", "AN", "ES", "ET", "CS"}


class Part(NamedTuple):
    """Glyphs of one or more runs, and what they say if that is not read off them one by one."""

    said: str
    glyphs: list[tuple[Run, Glyph]]


def spoken(line: Line, way: int) -> list[Part]:
    """The line from left to right, in a document of that way."""
    ways = [run.level % 2 for run in line.runs]
    parts: list[Part] = []
    at = 0
    for turned, group in groupby(line.runs, key=lambda run: bool(line.base or run.level)):
        region = list(group)
        if turned and way == LEFT_TO_RIGHT and _is_misread(region, line.base):
            parts.append(_letter_by_letter(region))
            at += len(region)
            continue
        for run in region:
            turns_before = at > 0 and ways[at - 1] != ways[at]
            turns_after = at + 1 < len(ways) and ways[at + 1] != ways[at]
            parts += _of_run(run, turns_before, turns_after)
            at += 1
    return list(_joined(parts))


def _is_misread(region: Sequence[Run], base: int) -> bool:
    text = _text(region)
    classes = [unicodedata.bidirectional(each) for each in text]
    return (
        base != LEFT_TO_RIGHT
        or len({run.level for run in region}) > 1
        or not _OF_NUMBERS.isdisjoint(classes)
        or not (_HAS_A_WAY.issuperset((classes[0], classes[-1])))
    )


def _text(region: Sequence[Run]) -> str:
    return "".join(run.text for run in sorted(region, key=lambda run: run.start))


def _letter_by_letter(region: Sequence[Run]) -> Part:
    said = "".join(f"{each}{_MARKS[LEFT_TO_RIGHT]}" for each in _text(region))
    return Part(said, [(run, glyph) for run in region for glyph in run.glyphs])


def _of_run(run: Run, turns_before: bool, turns_after: bool) -> list[Part]:
    glyphs = [(run, glyph) for glyph in run.glyphs]
    turns = run.level % 2 or turns_before or turns_after
    if not turns and "".join(glyph.text for glyph in run.glyphs) == run.text:
        return [Part("", glyphs)]
    if run.level % 2:
        single = (Part("", [glyph]) for glyph in glyphs)
        parts = [_marked(part, 1) if _is_of_a_number(part) else part for part in single]
    else:
        parts = list(_in_order(run))
    if turns_before:
        parts[0] = _marked(parts[0], run.level % 2)
    if turns_after:
        parts[-1] = _marked(parts[-1], run.level % 2)
    return parts


def _is_of_a_number(part: Part) -> bool:
    """Such as a comma: what is beside it would be taken to run to the right, as numbers do."""
    ((_run, glyph),) = part.glyphs
    return not _OF_NUMBERS.isdisjoint(map(unicodedata.bidirectional, glyph.text))


def _marked(part: Part, way: int) -> Part:
    """A part that has no way of its own, between two marks of the one it has here."""
    text = part.said or "".join(glyph.text for _run, glyph in part.glyphs)
    if not _HAS_A_WAY.isdisjoint(map(unicodedata.bidirectional, text)):
        return part
    return Part(f"{_MARKS[way]}{text}{_MARKS[way]}", part.glyphs)


def _in_order(run: Run) -> Iterator[Part]:
    """The smallest groups of glyphs that stand for a stretch of the text."""
    group: list[tuple[Run, Glyph]] = []
    start = length = reach = 0
    for glyph in run.glyphs:
        group.append((run, glyph))
        length += len(glyph.text)
        reach = max(reach, glyph.at + len(glyph.text))
        if glyph.text and start + length == reach:
            yield _read(group, run.text[start:reach])
            group, start, length = [], reach, 0
    if group:
        yield _read(group, run.text[start:])


def _read(group: list[tuple[Run, Glyph]], text: str) -> Part:
    drawn = "".join(glyph.text for _run, glyph in group)
    return Part("" if drawn == text else text, group)


def _joined(parts: Sequence[Part]) -> Iterator[Part]:
    """What is read glyph by glyph, together."""
    for is_plain, group in groupby(parts, key=lambda part: not part.said):
        if is_plain:
            yield Part("", [each for part in group for each in part.glyphs])
        else:
            yield from group
