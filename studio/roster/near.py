"""Children and lines by what they are alike in: found without looking at every pair."""

from collections.abc import Iterable
from typing import Generic, TypeVar

from studio.models import Child
from studio.roster.alike import Who, alike
from studio.roster.lines import RosterLine

T = TypeVar("T")


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


def who_of_child(child: Child) -> Who:
    return Who(child.name, child.birth_year, child.birth_month, child.guardian)


def who_of_line(line: RosterLine) -> Who:
    return Who(line.name, line.birth_year, line.birth_month, line.guardian)
