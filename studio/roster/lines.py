"""A roster's table read line by line: the values of a line, and what is wrong with it.

Pure Python: studio/roster/match.py decides which child a line means.
"""

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.conf.locale import LANG_INFO
from django.utils.translation import gettext as _

from studio.imports.date_column import (
    DateColumn,
    DateError,
    is_whole_date,
    read_date_column,
    read_month,
)
from studio.imports.file_text import TableFileError
from studio.imports.refused_file import RefusedLine
from studio.imports.table_file import Row, Table, match_columns
from studio.people.names import clean_name, fold_name, in_speaking_order

COLUMNS = {
    "id": ("child id", "student id", "pupil id", "member id", "list id", "number", "no"),
    "name": ("child", "child name", "full name", "student", "student name", "pupil", "dancer"),
    "first name": ("given name", "forename", "first"),
    "last name": ("family name", "surname", "last"),
    "name used": ("called", "known as", "nickname", "preferred name"),
    "birth": ("date of birth", "birth date", "birthdate", "birthday", "born", "dob", "birth ym"),
    "birth year": ("year of birth", "year born"),
    "birth month": ("month of birth", "month born"),
    "class": ("classes", "class name", "group", "groups"),
    "guardian": ("parent", "parents", "parent name", "guardian name", "parent or guardian"),
    "language": ("letter language", "language for letters", "language of letters"),
    "consent": (
        "consent to spotting",
        "consent to hands on spotting",
        "spotting consent",
        "hands on spotting",
        "spotting",
    ),
}

_LONGEST = {
    "id": 60,
    "name": 120,
    "first name": 59,
    "last name": 60,
    "name used": 60,
    "guardian": 120,
    "language": 10,
}
# Older than this is a slip of the pen in a roster of children and young people.
_OLDEST = 30
_YES = {"yes", "y", "true", "1", "x", "ja", "oui", "sí", "si", "✓", "✔"}
_NO = {"no", "n", "false", "0", "nein", "non"}
# What spreadsheet programs make of a long number: the digits are gone.
_SHORTENED = re.compile(r"\d(?:[.,]\d+)?E\+\d+", re.IGNORECASE)
_NO_ORDER = DateColumn("")


@dataclass(frozen=True)
class RosterLine:
    """What one line says of a child. Blank text, and None for consent: not in the file."""

    line: int
    list_id: str
    name: str
    # As the file writes it, where that differs: “Family, Given”.
    written: str
    name_used: str
    # What a new child is called if the file has no name used.
    given: str
    birth_year: int
    birth_month: int
    # The cell itself, to tell two lines apart; only year and month are kept.
    birth: str
    whole_birth: bool
    # The names as the studio writes them, see parse_roster.
    classes: tuple[str, ...]
    guardian: str
    language: str
    consent: bool | None

    @property
    def key(self) -> tuple[str, int, int]:
        """What a child is found by when there is no id."""
        return fold_name(self.name), self.birth_year, self.birth_month


@dataclass(frozen=True)
class ParsedRoster:
    """``fault`` is a sentence if the table as a whole is no roster; then nothing was read."""

    lines: tuple[RosterLine, ...] = ()
    refused: tuple[RefusedLine, ...] = ()
    used: Mapping[str, str] = field(default_factory=dict)
    unused: tuple[str, ...] = ()
    dates: DateColumn = _NO_ORDER
    fault: str = ""


def parse_roster(
    table: Table,
    *,
    today: datetime.date,
    known_classes: Mapping[str, str],
    dates: str | None = None,
    usual_class: str = "",
) -> ParsedRoster:
    """Read every line. ``known_classes`` maps folded names to the names as they are known.

    ``usual_class`` is the class of lines that name none. If the order of the birth dates
    must be asked for, no line is read and ``dates.ask`` is true.
    """
    try:
        at = match_columns(table.columns, COLUMNS)
    except TableFileError as error:
        return ParsedRoster(fault=str(error))
    used = {name: table.columns[index] for name, index in at.items()}
    unused = tuple(c for i, c in enumerate(table.columns) if c and i not in at.values())
    if fault := _missing_columns(at):
        return ParsedRoster(used=used, unused=unused, fault=fault)
    column = at.get("birth")
    cells = [] if column is None else [row.cells[column] for row in table.rows]
    order = read_date_column(cells, dates)
    if order.ask:
        return ParsedRoster(used=used, unused=unused, dates=order)
    lines, refused = [], []
    for row in table.rows:
        reader = _LineReader(row, at, used, order.order, today, known_classes, usual_class)
        line = reader.read(len(table.columns))
        refused += reader.faults
        if line and not reader.faults:
            lines.append(line)
    return ParsedRoster(tuple(lines), tuple(refused), used, unused, order)


def _missing_columns(at: Mapping[str, int]) -> str:
    if "name" not in at and not {"first name", "last name"} <= at.keys():
        return _(
            "There is no column for the name. The first line must name the columns, one of "
            "them “name”, or “first name” and “last name”."
        )
    if "birth" not in at and not {"birth year", "birth month"} <= at.keys():
        return _("There is no column for the birth: “birth”, or “birth year” and “birth month”.")
    return ""


class _LineReader:
    """Reads one row, gathering everything that is wrong with it."""

    def __init__(
        self,
        row: Row,
        at: Mapping[str, int],
        used: Mapping[str, str],
        order: str,
        today: datetime.date,
        known_classes: Mapping[str, str],
        usual_class: str,
    ) -> None:
        self.row, self.at, self.used = row, at, used
        self.order, self.today = order, today
        self.known_classes, self.usual_class = known_classes, usual_class
        self.faults: list[RefusedLine] = []

    def read(self, width: int) -> RosterLine | None:
        if len(self.row.cells) > width:
            self.refuse(
                "",
                _(
                    "The line has %(cells)d cells and the header %(columns)d: a separator "
                    "stands inside a cell without quotation marks."
                )
                % {"cells": len(self.row.cells), "columns": width},
            )
            return None
        name, written, given = self.name()
        birth = self.birth()
        year, month = birth or (0, 0)
        return RosterLine(
            line=self.row.line,
            list_id=self.list_id(),
            name=name,
            written=written if written != name else "",
            name_used=self.words("name used"),
            given=given,
            birth_year=year,
            birth_month=month,
            birth=self.cell("birth") or f"{year}-{month}",
            whole_birth=is_whole_date(self.cell("birth")) if self.cell("birth") else False,
            classes=self.classes(),
            guardian=self.words("guardian"),
            language=self.language(),
            consent=self.consent(),
        )

    def refuse(self, column: str, reason: str) -> None:
        named = self.used.get(column, column)
        self.faults.append(RefusedLine(self.row.line, named, reason))

    def cell(self, column: str) -> str:
        index = self.at.get(column)
        return "" if index is None else self.row.cells[index]

    def words(self, column: str) -> str:
        """A cell of words, checked for length and for letters lost on the way."""
        text = clean_name(self.cell(column))
        self.check_letters(column, text)
        if len(text) > _LONGEST[column]:
            self.refuse(
                column, _("This is longer than %(most)d letters.") % {"most": _LONGEST[column]}
            )
        return text

    def check_letters(self, column: str, text: str) -> None:
        """Refuse marks that stand where a letter did not survive the saving of the file."""
        if "?" in text or "\ufffd" in text:
            self.refuse(
                column,
                _(
                    "A letter of “%(text)s” was lost when the file was saved. Type it again, "
                    "and save as “CSV UTF-8”."
                )
                % {"text": text},
            )

    def list_id(self) -> str:
        text = self.words("id")
        if _SHORTENED.fullmatch(text):
            self.refuse(
                "id",
                _(
                    "The spreadsheet has shortened this number. Make the column text and "
                    "type it again."
                ),
            )
        return text

    def name(self) -> tuple[str, str, str]:
        """The name, the name as the file writes it, and the given name if the file has it."""
        if "name" in self.at:
            column, written = "name", self.words("name")
            name = in_speaking_order(written)
            given = name.removesuffix(written.partition(",")[0]) if name != written else ""
        else:
            column = "first name"
            given, family = self.words("first name"), self.words("last name")
            name = written = f"{given} {family}".strip()
        if not any(letter.isalpha() for letter in name) and "?" not in name:
            self.refuse(column, _("The name is missing."))
        return name, written, given.strip()

    def birth(self) -> tuple[int, int] | None:
        column = "birth" if "birth" in self.at else "birth year"
        cell = self.cell(column)
        if column == "birth year" and cell:
            cell = f"{cell}-{self.cell('birth month')}"
        if not cell:
            self.refuse(column, _("The birth is missing; year and month are enough."))
            return None
        try:
            year, month = read_month(cell, self.order, self.today)
        except DateError as error:
            self.refuse(column, str(error))
            return None
        if year < self.today.year - _OLDEST:
            self.refuse(
                column,
                _("%(cell)s is more than %(years)d years ago.") % {"cell": cell, "years": _OLDEST},
            )
        return year, month

    def classes(self) -> tuple[str, ...]:
        """The classes named, in the order of the cell, each once."""
        parts = re.split(r"[;\r\n]", self.cell("class"))
        named = [name for part in parts if (name := clean_name(part))] or (
            [self.usual_class] if self.usual_class else []
        )
        classes: dict[str, None] = {}
        for name in named:
            known = self.known_classes.get(fold_name(name))
            if known is None:
                self.refuse("class", self._unknown_class(name))
            else:
                classes[known] = None
        return tuple(classes)

    def _unknown_class(self, name: str) -> str:
        names = sorted(set(self.known_classes.values()))
        return _("There is no class called “%(name)s” here. The classes are: %(known)s.") % {
            "name": name,
            "known": "; ".join(names),
        }

    def language(self) -> str:
        """A language code, from a code or from the language's name in English or its own."""
        text = clean_name(self.cell("language"))
        if not text:
            return ""
        wanted = text.casefold()
        for code, info in LANG_INFO.items():
            if wanted in (
                code,
                info.get("name", "").casefold(),
                info.get("name_local", "").casefold(),
            ):
                return code
        if wanted.partition("-")[0] in LANG_INFO and len(wanted) <= _LONGEST["language"]:
            return wanted
        self.refuse(
            "language",
            _("“%(text)s” is not a language known here. Write a code such as en or de.")
            % {"text": text},
        )
        return ""

    def consent(self) -> bool | None:
        text = self.cell("consent").casefold()
        if text in _YES or text in _NO:
            return text in _YES
        if text:
            self.refuse(
                "consent",
                _("“%(text)s” is neither yes nor no.") % {"text": self.cell("consent")},
            )
        return None
