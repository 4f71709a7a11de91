"""Whether two entries may be of one child: a letter or a month typed otherwise, names turned about.

Pure Python. What is alike is asked about; nothing is joined by it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher

from studio.people.names import fold

# How much of two words must be the same letters: what one wrong letter leaves of four.
_CLOSE = 0.75
# A pet name has at least so many letters of the given name.
_SHORTEST = 3


@dataclass(frozen=True)
class Who:
    """What a line, or the record, tells a child by."""

    name: str
    year: int | None
    month: int | None
    guardian: str

    @property
    def words(self) -> list[str]:
        return fold(self.name).split()

    def marks(self) -> Iterator[str]:
        """Two who are alike have one of these in common."""
        yield from self.words
        if self.guardian:
            yield f"guardian: {fold(self.guardian)}"


def alike(one: Who, other: Who) -> bool:
    """Whether somebody should be asked if these are one child."""
    words, others = one.words, other.words
    guardian = bool(one.guardian) and fold(one.guardian) == fold(other.guardian)
    if sorted(words) == sorted(others):
        return guardian or _years_apart(one, other) <= 1
    if set(words) < set(others) or set(others) < set(words) or _spelt_alike(words, others):
        return _same_birth(one, other) or (guardian and not _years_apart(one, other))
    return guardian and not _years_apart(one, other) and _called_alike(words, others)


def _years_apart(one: Who, other: Who) -> int:
    """0 where a year is not known."""
    return abs(one.year - other.year) if one.year and other.year else 0


def _same_birth(one: Who, other: Who) -> bool:
    months = {one.month, other.month} - {None}
    return not _years_apart(one, other) and len(months) < 2


def _spelt_alike(words: list[str], others: list[str]) -> bool:
    """All words the same but one, and that one alike."""
    odd = [word for word in words if word not in others]
    odd_others = [word for word in others if word not in words]
    if len(odd) != 1 or len(odd_others) != 1:
        return False
    return SequenceMatcher(None, odd[0], odd_others[0]).ratio() >= _CLOSE


def _called_alike(words: list[str], others: list[str]) -> bool:
    """The same given name, or one that begins like it."""
    short, long = sorted((words[0], others[0]), key=len) if words and others else ("", "")
    return len(short) >= _SHORTEST and long.startswith(short)
