"""Reading a table out of a file as spreadsheet programs write it.

Pure Python. Everything stays text: 007 is not 7, and 3/5 is not a date.
Shared: used by the roster and the paper log.
"""

import csv
import io
import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.imports.file_text import TableFileError, decode, how_to_save
from studio.people.names import fold

# The empty one means a single column.
DELIMITERS = {
    ",": gettext_lazy("comma"),
    ";": gettext_lazy("semicolon"),
    "\t": gettext_lazy("tab"),
    "": gettext_lazy("none, a single column"),
}
# How a separator can be named on a command line and in a form.
DELIMITER_NAMES = {"comma": ",", "semicolon": ";", "tab": "\t", "none": ""}

# So many records are looked at to find the separator.
_SAMPLE = 200
# Control characters, which decode() has refused: they cannot be in the text itself.
_NO_DELIMITER = "\x1f"
_END = "\x1e"
_SEP_LINE = re.compile(r'"?sep=([^"\r\n])"?[ \t]*(?:\r\n|\r|\n|$)', re.IGNORECASE)
_GUARDED = re.compile(r"'[=+\-@＝＋－＠﹦﹢﹣﹫]")


@dataclass(frozen=True)
class Row:
    """One record: the line of the file it begins on (from 1), and its cells, trimmed.

    There are at least as many cells as the table has columns; more means that a separator
    stands unquoted inside a cell.
    """

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A header and its rows. ``encoding`` and ``delimiter`` are what the file was read with."""

    encoding: str
    delimiter: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def read_table(data: bytes, *, encoding: str | None = None, delimiter: str | None = None) -> Table:
    """Read a table; encoding and delimiter are detected unless given.

    Blank rows, and blank columns at the end, are left out. Raises TableFileError.
    """
    text, encoding = decode(data, encoding)
    lines_before = 0
    if declared := _SEP_LINE.match(text):
        delimiter = declared[1] if delimiter is None else delimiter
        text = text[declared.end() :]
        lines_before = 1
    if delimiter is None:
        delimiter = _detect_delimiter(text)
    records = [r for r in _records(text, delimiter, lines_before) if any(r[1])]
    if not records:
        raise TableFileError(_("The file is empty.") + " " + how_to_save())
    most = len(records[0][1])
    width = max(w for w in (_width(cells) for _line, cells in records) if w <= most)
    header, *rows = (Row(line + lines_before, _as_wide(cells, width)) for line, cells in records)
    return Table(encoding, delimiter, header.cells, tuple(rows))


def match_columns(
    columns: Sequence[str],
    known: Mapping[str, Sequence[str]],
    said: Mapping[str, str] | None = None,
) -> dict[str, int]:
    """Which column holds what: {name: index} for the names in ``known``.

    ``known`` gives each name's aliases; the name is an alias of itself. Case, accents and signs
    do not matter. ``said``: what somebody has said of folded headers, "" for a column that is not
    to be read. Raises TableFileError if two columns fit one name.
    """
    columns_by_name: dict[str, int] = {}
    for index, name in enumerate(column_names(columns, known, said or {})):
        if not name:
            continue
        column = columns[index]
        if name in columns_by_name:
            raise TableFileError(
                _("The columns “%(one)s” and “%(two)s” mean the same. Take one of them out.")
                % {"one": columns[columns_by_name[name]], "two": column}
            )
        columns_by_name[name] = index
    return columns_by_name


def column_names(
    columns: Sequence[str], known: Mapping[str, Sequence[str]], said: Mapping[str, str]
) -> list[str]:
    """What each column holds, "" for those that are not read."""
    by_alias = {fold_header(a): name for name, all_ in known.items() for a in (name, *all_)}
    by_alias |= {head: name for head, name in said.items() if not name or name in known}
    return [by_alias.get(fold_header(column), "") for column in columns]


def fold_header(text: str) -> str:
    """A header as it is compared."""
    return " ".join(re.sub(r"[\W_]+", " ", fold(text)).split())


def _width(cells: Sequence[str]) -> int:
    """How many cells there are without the blank ones at the end."""
    width = len(cells)
    while width and not cells[width - 1]:
        width -= 1
    return width


def _as_wide(cells: tuple[str, ...], width: int) -> tuple[str, ...]:
    """The cells, at least so many, without blank ones beyond."""
    if len(cells) < width:
        return cells + ("",) * (width - len(cells))
    return cells[: max(width, _width(cells))]


def _records(text: str, delimiter: str, lines_before: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Each record with the line it begins on.

    A mark after the last line shows whether a quote was left open: the cell that the quote
    began then swallows the mark.
    """
    source = io.StringIO(f"{text}\n{_END}\n", newline="")
    reader = csv.reader(source, delimiter=delimiter or _NO_DELIMITER, skipinitialspace=True)
    begins = 1
    while True:
        try:
            cells = next(reader)
        except csv.Error:
            raise _open_quote(begins + lines_before) from None
        if cells == [_END]:
            return
        if cells and _END in cells[-1]:
            raise _open_quote(begins + lines_before)
        yield begins, tuple(_clean(cell) for cell in cells)
        begins = reader.line_num + 1


def _open_quote(line: int) -> TableFileError:
    return TableFileError(
        _(
            "A quotation mark is opened on line %(line)d and not closed. Close it, or save "
            "the file anew."
        )
        % {"line": line}
    )


def _clean(cell: str) -> str:
    cell = cell.strip()
    # The apostrophe that keeps a spreadsheet from running a cell as a formula; the file of
    # refused lines is written with it.
    return cell[1:] if cell[:1] == "'" and _GUARDED.match(cell) else cell


def _detect_delimiter(text: str) -> str:
    """The separator with which most rows are as wide as the header; none if none splits it."""
    best, best_score = "", (0.0, 1)
    for delimiter in filter(None, DELIMITERS):
        try:
            sample = [c for _line, c in itertools.islice(_records(text, delimiter, 0), _SAMPLE)]
        except TableFileError:
            continue
        widths = [len(cells) for cells in sample if any(cells)]
        if not widths:
            return delimiter
        if widths[0] < 2:
            continue
        score = (widths.count(widths[0]) / len(widths), widths[0])
        if score > best_score:
            best, best_score = delimiter, score
    return best
