"""A roster's table read line by line: the values of a line, and what is wrong with it.

Pure Python: studio/roster/match.py decides which child a line means.
"""

import datetime
import re
from collections.abc import Collection, Mapping, Sequence
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
from studio.imports.refused_file import CellError, RefusedLine
from studio.imports.table_file import Row, Table, match_columns
from studio.imports.words import (
    COLUMN,
    LEAVE_OUT,
    NO_WORDS,
    YES_WORDS,
    Choices,
    Said,
    Word,
    Words,
    fold_word,
)
from studio.people.names import clean_name, fold, fold_name, in_speaking_order

COLUMNS = {
    "id": (
        "child id",
        "student id",
        "pupil id",
        "member id",
        "member no",
        "list id",
        "number",
        "no",
    ),
    "name": (
        "child",
        "child name",
        "child's name",
        "full name",
        "student",
        "student name",
        "pupil",
        "dancer",
    ),
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
# What was said of a consent's word that is neither yes nor no.
_ANSWERS = {"yes": True, "no": False, "not-asked": None}
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
    # None: the file has only the year.
    birth_month: int | None
    # The cell itself, to tell two lines apart; only year and month are kept.
    birth: str
    whole_birth: bool
    # The names as the studio writes them, see parse_roster.
    classes: tuple[str, ...]
    guardian: str
    language: str
    consent: bool | None
    # Why it is left out until somebody has said what its words mean.
    open: tuple[RefusedLine, ...] = ()

    @property
    def born(self) -> str:
        """Year and month, or the year."""
        return (
            f"{self.birth_year}-{self.birth_month:02d}"
            if self.birth_month
            else f"{self.birth_year}"
        )

    @property
    def key(self) -> tuple[str, int, int | None]:
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
    words: tuple[Word, ...] = ()


def parse_roster(
    table: Table,
    *,
    today: datetime.date,
    known_classes: Mapping[str, str],
    dates: str | None = None,
    usual_class: str = "",
    said: Said | None = None,
) -> ParsedRoster:
    """Read every line. ``known_classes`` maps folded names to the names as they are known.

    ``usual_class`` is the class of lines that name none; ``said``: what words of the file mean.
    If the order of the birth dates must be asked for, no line is read and ``dates.ask`` is true.
    """
    said = said or {}
    try:
        at = match_columns(table.columns, COLUMNS, said.get(COLUMN))
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
    lines, refused, words = [], [], Words(said)
    for row in table.rows:
        reader = _LineReader(row, at, used, order.order, today, known_classes, usual_class, words)
        line = reader.read(len(table.columns))
        refused += reader.faults
        if line and not reader.faults:
            lines.append(line)
    asked = words.all(lambda what, _written: _choices(what, known_classes))
    return ParsedRoster(tuple(lines), tuple(refused), used, unused, order, words=asked)


def _choices(what: str, known_classes: Mapping[str, str]) -> Choices:
    """What a word of a roster may mean."""
    if what == "class":
        return [(name, name) for name in sorted(set(known_classes.values()))]
    if what == "consent":
        return [("yes", _("yes")), ("no", _("no")), ("not-asked", _("not asked"))]
    return sorted((code, info["name"]) for code, info in LANG_INFO.items() if "name" in info)


def _missing_columns(at: Mapping[str, int]) -> str:
    if "name" not in at and not {"first name", "last name"} <= at.keys():
        return _(
            "There is no column for the name. The first line must name the columns, one of "
            "them “name”, or “first name” and “last name”."
        )
    if "birth" not in at and "birth year" not in at:
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
        words: Words,
    ) -> None:
        self.row, self.at, self.used = row, at, used
        self.order, self.today = order, today
        self.known_classes, self.usual_class = known_classes, usual_class
        self.asked = words
        self.faults: list[RefusedLine] = []
        self.open: list[RefusedLine] = []

    def read(self, width: int) -> RosterLine | None:
        if len(self.row.cells) > width:
            sentence = _(
                "The line has %(cells)s cells and the header %(columns)s: a separator "
                "stands inside a cell without quotation marks."
            )
            self.refuse("", CellError(sentence, cells=len(self.row.cells), columns=width))
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
            open=tuple(self.open),
        )

    def refuse(self, column: str, error: CellError) -> None:
        self.faults.append(self._refused(column, error))

    def _refused(self, column: str, error: CellError) -> RefusedLine:
        named = self.used.get(column, column)
        return RefusedLine(self.row.line, named, str(error), error.kind)

    def ask(self, what: str, written: str, offered: Collection[str], error: CellError) -> str:
        """What was said that a word means; "" if nobody has: then the line waits, or is refused
        if somebody said so."""
        meaning = self.asked.meaning(what, written, offered)
        self.asked.meet(self.row.line, what, written)
        if not meaning:
            left_out = self.asked.said.get(what, {}).get(fold_word(written)) == LEAVE_OUT
            (self.faults if left_out else self.open).append(self._refused(what, error))
        return meaning

    def cell(self, column: str) -> str:
        index = self.at.get(column)
        return "" if index is None else self.row.cells[index]

    def words(self, column: str) -> str:
        """A cell of words, checked for length and for letters lost on the way."""
        text = clean_name(self.cell(column))
        self.check_letters(column, text)
        if len(text) > _LONGEST[column]:
            sentence = _("This is longer than %(most)s letters.")
            self.refuse(column, CellError(sentence, most=_LONGEST[column]))
        return text

    def check_letters(self, column: str, text: str) -> None:
        """Refuse marks that stand where a letter did not survive the saving of the file."""
        if "?" in text or "\ufffd" in text:
            sentence = _(
                "A letter of “%(text)s” was lost when the file was saved. Type it again, and "
                "save as “CSV UTF-8”."
            )
            self.refuse(column, CellError(sentence, text=text))

    def list_id(self) -> str:
        text = self.words("id")
        if _SHORTENED.fullmatch(text):
            sentence = _(
                "The spreadsheet has shortened this number. Make the column text and type it again."
            )
            self.refuse("id", CellError(sentence))
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
            self.refuse(column, CellError(_("The name is missing.")))
        return name, written, given.strip()

    def birth(self) -> tuple[int, int | None] | None:
        column = "birth" if "birth" in self.at else "birth year"
        cell = self.cell(column)
        if column == "birth year" and cell:
            cell = f"{cell}-{self.cell('birth month')}".rstrip("-")
        if not cell:
            sentence = _("The birth is missing; the year is enough, with the month if you know it.")
            self.refuse(column, CellError(sentence))
            return None
        try:
            year, month = read_month(cell, self.order, self.today)
        except DateError as error:
            self.refuse(column, error)
            return None
        if year < self.today.year - _OLDEST:
            sentence = _("%(cell)s is more than %(years)s years ago.")
            self.refuse(column, CellError(sentence, cell=cell, years=_OLDEST))
        return year, month

    def classes(self) -> tuple[str, ...]:
        """The classes named, in the order of the cell, each once."""
        parts = re.split(r"[;\r\n]", self.cell("class"))
        named = [name for part in parts if (name := clean_name(part))] or (
            [self.usual_class] if self.usual_class else []
        )
        return tuple(dict.fromkeys(found for name in named for found in self._class_named(name)))

    def _class_named(self, name: str) -> Sequence[str]:
        """The class of a name, however it is typed; two, if a comma or a sign stands between."""
        known = self._known_class(name)
        if known is not None:
            return [known]
        parts = [self._known_class(part) for part in re.split(r"[,/+&]", name) if part.strip()]
        if all(parts):
            return [part for part in parts if part]
        names = sorted(set(self.known_classes.values()))
        error = CellError(
            _("There is no class called “%(name)s” here. The classes are: %(known)s."),
            name=name,
            known="; ".join(names),
        )
        meaning = self.ask("class", name, names, error)
        return [meaning] if meaning else []

    def _known_class(self, name: str) -> str | None:
        plain = {fold(key): known for key, known in self.known_classes.items()}
        return self.known_classes.get(fold_name(name)) or plain.get(fold(name))

    def language(self) -> str:
        """A language code, from a code or from the language's name in English or its own."""
        text = clean_name(self.cell("language"))
        if not text:
            return ""
        wanted = fold(text) if "-" not in text else text.casefold()
        for code, info in LANG_INFO.items():
            if wanted in (
                code,
                fold(info.get("name", "")),
                fold(info.get("name_local", "")),
            ):
                return code
        if wanted.partition("-")[0] in LANG_INFO and len(wanted) <= _LONGEST["language"]:
            return wanted
        sentence = _("“%(text)s” is not a language known here. Write a code such as en or de.")
        return self.ask("language", text, LANG_INFO, CellError(sentence, text=text))

    def consent(self) -> bool | None:
        text = self.cell("consent")
        word = fold_word(text)
        if word in YES_WORDS or word in NO_WORDS:
            return word in YES_WORDS
        if not word:
            return None
        error = CellError(_("“%(text)s” is neither yes nor no."), text=text)
        return _ANSWERS.get(self.ask("consent", text, _ANSWERS, error))
