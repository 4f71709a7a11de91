"""Whether two entries may be of one child: a letter or a month typed otherwise, names turned about.

What is alike is asked about; nothing is joined by it. Shared: used by the list of likely doubles
and by a roster that is brought in.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cached_property
from typing import Any, Generic, TypeVar

from studio.people.names import fold, guardian_key

T = TypeVar("T")

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

    @cached_property
    def words(self) -> list[str]:
        return fold(self.name).split()

    @cached_property
    def told_guardian(self) -> str:
        return guardian_key(self.guardian)

    def marks(self) -> Iterator[str]:
        """Two who are alike have one of these in common."""
        yield from self.words
        if self.told_guardian:
            yield f"guardian: {self.told_guardian}"


def who_of(told: Any) -> Who:
    """``told``: a child, or a line of a roster."""
    return Who(told.name, told.birth_year, told.birth_month, told.guardian)


def alike(one: Who, other: Who) -> bool:
    """Whether somebody should be asked if these are one child."""
    words, others = one.words, other.words
    guardian = same_guardian(one, other)
    if sorted(words) == sorted(others):
        return guardian or _years_apart(one, other) <= 1
    if set(words) < set(others) or set(others) < set(words) or _spelt_alike(words, others):
        return _same_birth(one, other) or (guardian and not _years_apart(one, other))
    return guardian and _years_apart(one, other) <= 1 and _called_alike(words, others)


def same_guardian(one: Who, other: Who) -> bool:
    return bool(one.told_guardian) and one.told_guardian == other.told_guardian


def _years_apart(one: Who, other: Who) -> int:
    """0 where a year is not known."""
    return abs(one.year - other.year) if one.year and other.year else 0


def _same_birth(one: Who, other: Who) -> bool:
    """Of two whose birth is known; a month may be missing."""
    months = {one.month, other.month} - {None}
    return one.year is not None and one.year == other.year and len(months) < 2


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


class Likes(Generic[T]):
    """Whatever stands for a child, each by name, birth and guardian."""

    def __init__(self, each: Iterable[tuple[Who, T]] = ()) -> None:
        self._by_mark: dict[str, list[tuple[Who, T]]] = {}
        for who, what in each:
            self.add(who, what)

    def add(self, who: Who, what: T) -> None:
        for mark in dict.fromkeys(who.marks()):
            self._by_mark.setdefault(mark, []).append((who, what))

    def of(self, who: Who) -> list[T]:
        """Those who are alike, each once."""
        near = (pair for mark in who.marks() for pair in self._by_mark.get(mark, []))
        found = {id(what): what for other, what in near if alike(who, other)}
        return list(found.values())
