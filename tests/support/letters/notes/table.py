"""What a note for the door in one language can say: ``patterns/``, and what drills are called."""

import datetime
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.support.letters.table import PLACE, UNKNOWN, Said, Table

PATTERNS = Path(__file__).parent / "patterns"
NOT_SURE = "not-sure"
# Names have no full stop here: one could hold the sentence before, or after.
NAMES = dict.fromkeys(
    ("name", "full_name", "coach", "told", "class", "hall"), r"[^:;.“”\n]{1,120}?"
)


class NoteTable(Table):
    def __init__(self, language: str, content: dict[str, Any]) -> None:
        super().__init__(language, content)
        with (PATTERNS / f"{language}.toml").open("rb") as file:
            self.rows |= tomllib.load(file)
        if language == "en":
            self.keys["drill"] = {row["name"]: row["key"] for row in content["drill"]}
        for what in ("seen", "did"):
            self.keys[what] = {text: key for key, text in self.rows[what].items()}
        self.keys["flag"] = {text: str(at) for at, text in enumerate(self.rows["flags"])}
        for what in ("drill", "seen", "did", "flag"):
            self.places[what] = self._one_of(list(self.keys[what]))
        day = re.escape(self.rows["day"])
        day = day.replace(r"\{weekday\}", self._one_of(self.rows["weekdays"]))
        self.places["day"] = day.replace(r"\{date\}", self.places["date"])
        self.places |= NAMES | {"clock": r"\d\d:\d\d", "clear": r"\d+", "full": r"\d+"}
        self.patterns["note"] = {
            kind: self._compiled(text) for kind, text in self.rows["note"].items()
        }

    def sentences(self, paragraph: str) -> Iterator[Said]:
        """Of a paragraph of a note, or of one line of its list."""
        text = paragraph
        while text:
            found = [
                self._said("note", kind, pattern.match(text))
                for kind, pattern in self.patterns["note"].items()
            ]
            said = max(filter(None, found), key=lambda said: len(said.text), default=None)
            yield said or Said(UNKNOWN, text)
            text = text[len(said.text) + 1 :] if said else ""

    def said_note_day(self, day: datetime.date) -> str:
        weekday = self.rows["weekdays"][day.weekday()]
        return str(self.rows["day"].format(weekday=weekday, date=self.said_day(day)))

    def own_words(self, kind: str) -> str:
        """Those of a sentence without what is put into it."""
        return PLACE.sub(" ", self.rows["note"][kind])

    def _read(self, what: str, text: str) -> Any:
        if what in ("clear", "full"):
            return int(text)
        return self._note_day(text) if what == "day" else super()._read(what, text)

    def _note_day(self, text: str) -> datetime.date | None:
        """None where the weekday is not that of the date."""
        before, after = self.rows["day"].split("{weekday}")[1].split("{date}")
        date = text.partition(before)[2].removesuffix(after)
        day = self._day(date)
        return day if day and self.said_note_day(day) == text else None
