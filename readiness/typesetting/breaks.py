"""Where a line may end.

At a space. Thai writes none between words, and to know them takes a dictionary: here it breaks
between any two letters that stand beside each other on paper, but never after a vowel that is
written before its consonant nor before one that is written after it. Chinese, Japanese and Korean
break between characters and beside words of other scripts, not before what closes nor after what
opens: only where UAX 14 lets them, though not everywhere it does. A name breaks at its spaces
alone.
"""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from itertools import pairwise

from readiness.typesetting.shaping import clusters

# Thai, and all that East Asian characters lie among.
_BREAKS_INSIDE = re.compile("[\u0e01-\u0e5b\u1100-\u11ff\u2e80-\uffef\U00010000-\U0010ffff]")
_THAI = re.compile("[\u0e01-\u0e5b]")
_NOT_AFTER_THAI = "\u0e40\u0e41\u0e42\u0e43\u0e44"
_NOT_BEFORE_THAI = "\u0e2f\u0e30\u0e32\u0e33\u0e45\u0e46"

# As wide as they are high, or half of it: ideographs, kana, syllables of Korean, their signs.
_EAST_ASIAN = {"W", "F", "H"}
_LETTERS = {"Lu", "Ll", "Lt", "Lo", "Nd", "Nl", "No"}
_MAY_BEGIN = {*_LETTERS, "Ps"}
# Of East Asian signs, those that close, and those that stand for themselves.
_MAY_END = {*_LETTERS, "Lm", "Pe", "Po", "Pd", "So"}
# Parts of a syllable of Korean that is not one character.
_JAMO = re.compile("[\u1100-\u11ff\ua960-\ua97f\ud7b0-\ud7ff]")
_SMALL_KANA = "LETTER SMALL "


def breaks(text: str, names: Sequence[str]) -> list[int]:
    """The places, the end of the text among them."""
    found = {match.end() for match in re.finditer(r"\s+", text)}
    if _BREAKS_INSIDE.search(text):
        pattern = any_of(names)
        whole = [match.span() for match in re.finditer(pattern, text)] if pattern else []
        found.update(
            place
            for place in _inside_words(text)
            if not any(start < place < end for start, end in whole)
        )
    return sorted({*found, len(text)})


def any_of(names: Sequence[str]) -> str:
    """A pattern for the names, the longest first; empty for none."""
    longest_first = sorted(filter(None, names), key=len, reverse=True)
    return "|".join(map(re.escape, longest_first))


def _inside_words(text: str) -> Iterator[int]:
    at = 0
    for before, after in pairwise(clusters(text)):
        at += len(before)
        if _thai_breaks(before, after) or _east_asian_breaks(before[0], after[0]):
            yield at


def _thai_breaks(before: str, after: str) -> bool:
    return bool(
        _THAI.match(before[-1])
        and _THAI.match(after)
        and before[-1] not in _NOT_AFTER_THAI
        and after[0] not in _NOT_BEFORE_THAI
    )


def _east_asian_breaks(before: str, after: str) -> bool:
    ends_wide, begins_wide = _is_east_asian(before), _is_east_asian(after)
    return (
        (ends_wide or begins_wide)
        and unicodedata.category(before) in (_MAY_END if ends_wide else _LETTERS)
        and unicodedata.category(after) in _MAY_BEGIN
        and _SMALL_KANA not in unicodedata.name(after, "")
        and not _JAMO.search(before + after)
    )


def _is_east_asian(character: str) -> bool:
    return unicodedata.east_asian_width(character) in _EAST_ASIAN
