"""What a letter in one language can say: ``patterns/``, and the ladder's words for families.

``Table.sentences(text)`` takes a paragraph apart into what each sentence claims. It knows nothing
of the catalogues: a sentence that is not in the table is not understood.
"""

import datetime
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

PATTERNS = Path(__file__).parent / "patterns"
LANGUAGES = ("en", "es", "fr", "pt", "de", "ar")
PLACE = re.compile(r"\{(\w+)\}")
PARTS = ("frame", "titles", "headings", "sentences")
UNKNOWN = "unknown"
# What "and more" and "calm, steady turns" are read as in a list of drills.
MORE, TIME = "…", "time"
# Of somebody, or of the studio: whose it is, is for the judge to say.
A_NAME = r"[^:;“”\n]{1,120}?"


@dataclass(frozen=True)
class Value:
    """What stands in one place of a sentence. what: the place's name in the pattern; read: as a
    day, a number, a key of the ladder's."""

    what: str
    text: str
    begins: int
    read: Any


@dataclass(frozen=True)
class Said:
    """A sentence, and what it claims; of an unknown kind if it is in no table."""

    kind: str
    text: str
    values: tuple[Value, ...] = ()

    def get(self, what: str) -> Any:
        return next(value.read for value in self.values if value.what == what)

    def all(self, what: str) -> list[Any]:
        return [value.read for value in self.values if value.what == what]


@dataclass(frozen=True)
class Words:
    """The ladder's words for families in one language: each text with the key it is of."""

    content: dict[str, Any] = field(repr=False)
    language: str

    def told(self, row: dict[str, Any], name: str) -> str:
        """Empty if the ladder has none in this language."""
        if self.language == "en":
            return row.get(name) or (f"{row['name']}." if name == "letter" else "")
        return row.get(f"{name}_in", {}).get(self.language, "")

    def name(self, row: dict[str, Any]) -> str:
        return self.told(row, "letter").split(":")[0].strip().removesuffix(".")

    def within(self, row: dict[str, Any]) -> str:
        what = self.told(row, "letter").partition(":")[2].strip().removesuffix(".")
        return f"{self.name(row)} ({what})" if what else self.name(row)

    @cached_property
    def drills(self) -> list[dict[str, Any]]:
        return [row for row in self.content["drill"] if self.told(row, "letter")]

    def keys(self, without_hands: str) -> dict[str, dict[str, str]]:
        """By the place in a pattern."""
        return {
            "line": {self.told(row, "letter"): row["key"] for row in self.drills},
            "works": {self.within(row): row["key"] for row in self.drills},
            "drill": {self.name(row): row["key"] for row in self.drills},
            "stage": self._stages(without_hands),
            "surface": {self.told(row, "name"): row["key"] for row in self.content["surface"]},
            "place": {self.told(row, "name"): row["place"] for row in self.content["pain"]},
        }

    def _stages(self, without_hands: str) -> dict[str, str]:
        drills = {row["key"]: self.name(row) for row in self.drills}
        stages = {}
        for row in self.content["stage"]:
            stages[self.name(row)] = str(row["number"])
            for release in row.get("release", []):
                skill = drills.get(release["drill"], "")
                stages[without_hands.replace("{skill}", skill)] = release["code"]
        return stages


class Table:
    """The sentences of one language, for letters on one ladder."""

    def __init__(self, language: str, content: dict[str, Any]) -> None:
        self.language = language
        with (PATTERNS / f"{language}.toml").open("rb") as file:
            self.rows: dict[str, Any] = tomllib.load(file)
        self.keys = Words(content, language).keys(self.rows["words"]["without_hands"])
        for texts in self.keys.values():
            texts.pop("", None)
        self.places = self._places()
        self.patterns = {
            part: {kind: self._compiled(text) for kind, text in self.rows[part].items()}
            for part in PARTS
        }

    # --- reading ---------------------------------------------------------------------

    def whole(self, part: str, text: str) -> Said:
        """A heading, a title or a line of the letter's frame."""
        found = (
            self._said(part, kind, pattern.fullmatch(text))
            for kind, pattern in self.patterns[part].items()
        )
        return max(
            filter(None, found),
            key=lambda said: len(self.rows[part][said.kind]),
            default=Said(UNKNOWN, text),
        )

    def sentences(self, paragraph: str) -> Iterator[Said]:
        text = paragraph.removeprefix("• ")
        while text:
            found = [
                self._said("sentences", kind, pattern.match(text))
                for kind, pattern in self.patterns["sentences"].items()
            ]
            said = max(filter(None, found), key=lambda said: len(said.text), default=None)
            yield said or Said(UNKNOWN, text)
            text = text[len(said.text) + 1 :] if said else ""

    def _said(self, part: str, kind: str, match: re.Match[str] | None) -> Said | None:
        if match is None:
            return None
        values = []
        for at, what in enumerate(PLACE.findall(self.rows[part][kind]), start=1):
            values += self._values(what, match[at], match.start(at))
        return Said(kind, match[0], tuple(values))

    def _values(self, what: str, text: str, begins: int) -> Iterator[Value]:
        if what not in LISTS:
            yield Value(what, text, begins, self._read(what, text))
            return
        at = begins
        for item in text.split(self.rows["separator"]):
            yield from self._item(LISTS[what], item, at)
            at += len(item) + len(self.rows["separator"])

    def _item(self, what: str, text: str, begins: int) -> Iterator[Value]:
        if what == "opened":
            match = self._compiled(self.rows["words"]["stage_on"]).match(text)
            assert match
            yield Value("stage", match[1], begins + match.start(1), self._read("stage", match[1]))
            yield Value("date", match[2], begins + match.start(2), self._read("date", match[2]))
        else:
            yield Value(what, text, begins, self._read(what, text))

    def _read(self, what: str, text: str) -> Any:
        if what == "date":
            return self._day(text)
        if what == "weeks":
            return self._weeks(text)
        if what == "help":
            return self.rows["help"].index(text)
        if what == "drills":
            return self._drills(text)
        return self.keys[what][text] if what in self.keys else text

    def _day(self, text: str) -> datetime.date | None:
        """None for a day that is in no calendar, or is not written as this language does."""
        for form in ("first_of_month", "date"):
            match = re.fullmatch(self._date_form(form, named=True), text)
            if match:
                month = self.rows["months"].index(match["month"]) + 1
                try:
                    day = datetime.date(int(match["year"]), month, int(match["day"]))
                except ValueError:
                    return None
                return day if self.said_day(day) == text else None
        return None

    def _weeks(self, text: str) -> int | None:
        for row in self.rows["weeks"]:
            match = re.fullmatch(row["said"].replace("#", r"(\d+)"), text)
            if match:
                number = int(match[1]) if match.groups() else int(row["from"])
                return number if row["from"] <= number <= row["to"] else None
        return None

    def _drills(self, text: str) -> str | tuple[str, ...]:
        """A drill, or the two of which one is enough."""
        words, drills = self.rows["words"], self.keys["drill"]
        if text in (words["more"], words["time"]):
            return MORE if text == words["more"] else TIME
        if text in drills:
            return (drills[text],)
        both = re.fullmatch(self._filled(words["either"], r"(.+)"), text)
        return tuple(drills[each] for each in both.groups()) if both else ()

    # --- writing ---------------------------------------------------------------------

    def said_day(self, day: datetime.date) -> str:
        form = self.rows["first_of_month" if day.day == 1 else "date"]
        month = self.rows["months"][day.month - 1]
        return str(form.format(day=day.day, month=month, year=day.year))

    def said_weeks(self, number: int) -> str:
        (row,) = (row for row in self.rows["weeks"] if row["from"] <= number <= row["to"])
        return str(row["said"].replace("#", str(number)))

    def said_key(self, what: str, key: str) -> str:
        return next(text for text, of in self.keys[what].items() if of == key)

    # --- patterns --------------------------------------------------------------------

    def _places(self) -> dict[str, str]:
        """Of each place of a pattern, what may stand there."""
        words = self.rows["words"]
        places = {what: self._one_of(list(texts)) for what, texts in self.keys.items()}
        date = f"(?:{self._date_form('first_of_month')}|{self._date_form('date')})"
        drills = self._one_of([*self.keys["drill"]])
        either = self._filled(words["either"], drills)
        asked = f"(?:{either}|{drills}|{re.escape(words['more'])}|{re.escape(words['time'])})"
        opened = re.escape(words["stage_on"])
        opened = opened.replace(r"\{stage\}", places["stage"]).replace(r"\{date\}", date)
        return places | {
            "date": date,
            "weeks": self._one_of([row["said"] for row in self.rows["weeks"]]).replace(
                r"\#", r"\d+"
            ),
            "help": self._one_of(self.rows["help"]),
            "places": self._listed(places["place"]),
            "opened": self._listed(opened),
            "drills": self._listed(f"(?:{either}|{drills})"),
            "asks": self._listed(asked),
            "where": r"[^\n]{1,120}?",
        }

    def _listed(self, item: str) -> str:
        return f"{item}(?:{re.escape(self.rows['separator'])}{item})*"

    @staticmethod
    def _one_of(texts: list[str]) -> str:
        """The longest first, since one may begin as another does."""
        return f"(?:{'|'.join(map(re.escape, sorted(texts, key=len, reverse=True)))})"

    def _date_form(self, form: str, named: bool = False) -> str:
        pieces = {"day": r"\d{1,2}", "month": self._one_of(self.rows["months"]), "year": r"\d{4}"}
        return PLACE.sub(
            lambda match: f"(?{f'P<{match[1]}>' if named else ':'}{pieces[match[1]]})",
            self.rows[form],
        )

    @staticmethod
    def _filled(text: str, piece: str) -> str:
        return "".join(
            piece if PLACE.fullmatch(part) else re.escape(part)
            for part in re.split(r"(\{\w+\})", text)
        )

    def _compiled(self, text: str) -> re.Pattern[str]:
        """It ends where the text does, or before a space."""
        parts = (
            f"({self.places.get(place[1], A_NAME)})"
            if (place := PLACE.fullmatch(part))
            else re.escape(part)
            for part in re.split(r"(\{\w+\})", text)
        )
        return re.compile("".join(parts) + r"(?= |$)")


# A list, and what each of its items is.
LISTS = {"places": "place", "opened": "opened", "drills": "drills", "asks": "drills"}
