"""What the words of a paper log were said to mean, and what may be said of them."""

from collections.abc import Collection, Mapping, Sequence
from difflib import SequenceMatcher
from functools import cache
from typing import Any

from django.utils.translation import gettext as _

from progression.paper.people import Birth, People, child_word
from progression.paper.words import SUPPORT_WORDS, fault_parts, is_split_name, names_of, split_names
from studio.imports.words import Choices, Said, Words
from studio.people.names import fold

NO_FAULT = "none"


class Meanings:
    """Puts the words of the ladder in the place of those that the paper uses."""

    def __init__(self, said: Said, ladder: Mapping[str, Any], people: People) -> None:
        self.words, self.people = Words(said), people
        self._meaning = cache(self._find_meaning)
        self.split = split_names(ladder["drill"])
        self.drills = {drill["key"]: drill["name"] for drill in ladder["drill"]}
        self.known: dict[str, Collection[str]] = {
            "drill": names_of(ladder["drill"], "name"),
            "surface": names_of(ladder["surface"], "name"),
            "faults": names_of(ladder["fault"], "sees"),
            "coach": people.coaches,
        }
        names = {coach.username: coach.called for coach in people.by_username.values()}
        self.offered: dict[str, dict[str, str]] = {
            "drill": self.drills,
            "surface": {each["key"]: each["name"] for each in ladder["surface"]},
            "faults": {
                NO_FAULT: _("no fault"),
                **{each["key"]: each["sees"] for each in ladder["fault"]},
            },
            "value": {"clean": _("clean"), "not clean": _("not clean")},
            "support": {words[0]: words[0] for words in SUPPORT_WORDS.values()},
            "caught": {"yes": _("yes"), "no": _("no")},
            "coach": names,
        }

    def put_in(self, line: int, cells: Mapping[str, str]) -> dict[str, str]:
        """The cells of a line, with the words that were said for those that were asked about."""
        meant = dict(cells)
        for what in ("drill", "surface", "value", "support", "caught", "coach"):
            if cells.get(what):
                meant[what] = self._noted(line, what, cells[what])
        if cells.get("faults"):
            parts = [self._noted(line, "faults", part) for part in fault_parts(cells["faults"])]
            meant["faults"] = " + ".join(part for part in parts if part != NO_FAULT)
        return meant

    def _noted(self, line: int, what: str, cell: str) -> str:
        meaning = self._meaning(what, cell)
        if meaning:
            self.words.meet(line, what, cell)
        return meaning or cell

    def _find_meaning(self, what: str, cell: str) -> str:
        if what == "drill" and is_split_name(cell, self.split):
            offered: Sequence[str] = self.split[fold(cell)]
        elif fold(cell) in self.known.get(what, ()):
            return ""
        else:
            offered = list(self.offered[what])
        return self.words.meaning(what, cell, offered)

    def child(self, line: int, name: str, group: str, birth: Birth | None) -> str:
        """Who was said to be meant, by uuid; "" if nobody was."""
        if "child" not in self.words.said:
            return ""
        word = child_word(name, group, birth)
        meaning = self.words.meaning("child", word, self.people.by_uuid)
        if meaning:
            self.words.meet(line, "child", word)
        return meaning

    def choices(self, what: str, written: str) -> Choices:
        """What a word may mean, what looks like it first."""
        if what == "child":
            return self.people.who_may_be_meant(written)
        if what == "drill" and is_split_name(written, self.split):
            return [(key, self.drills[key]) for key in self.split[fold(written)]]
        offered = self.offered[what].items()
        if what not in ("drill", "faults"):
            return offered
        return sorted(offered, key=lambda choice: -_likeness(fold(choice[1]), fold(written)))


def _likeness(one: str, other: str) -> float:
    """From 0 to 1; words in another order are as good."""
    words, others = sorted(one.split()), sorted(other.split())
    return SequenceMatcher(None, " ".join(words), " ".join(others)).ratio()
