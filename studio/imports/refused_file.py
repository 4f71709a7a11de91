"""The lines of an uploaded file that were not taken, as a file to mend and bring in again.

Pure Python.
Shared: used by the roster, the paper log and every list that is given out.
"""

import csv
import io
from collections.abc import Iterable
from dataclasses import asdict, dataclass

from django.utils.translation import gettext as _

from studio.imports.table_file import Table

# What a spreadsheet program would run as a formula, full width and small too, or skip before one.
_RUNS = tuple("=+-@＝＋－＠﹦﹢﹣﹫\t\r\n")
# So many messages are shown on a page, and kept for it; the file has them all.
MOST_SHOWN = 200
# So many line numbers are shown for an example.
_EXAMPLES = 5


class CellError(Exception):
    """A cell that cannot be taken. ``str()`` is the sentence with what the cell says in it;
    ``kind`` is the same for every cell of which it is true."""

    def __init__(self, sentence: str, **cells: object) -> None:
        super().__init__(sentence % cells if cells else sentence)
        self.kind = sentence % dict.fromkeys(cells, "…") if cells else sentence


@dataclass(frozen=True)
class RefusedLine:
    """Why a line was not taken: its number in the file, the column ("" for the whole line),
    a sentence, and the kind of fault, which other lines have too."""

    line: int
    column: str
    reason: str
    kind: str = ""

    def as_json(self) -> dict[str, object]:
        return asdict(self)


@dataclass(frozen=True)
class RefusedKind:
    """A fault, how many lines have it, and the first of them."""

    kind: str
    lines: int
    first: tuple[int, ...]


def kinds_of(refused: Iterable[RefusedLine]) -> list[RefusedKind]:
    """The faults, the commonest first."""
    lines: dict[str, dict[int, None]] = {}
    for item in refused:
        lines.setdefault(item.kind or item.reason, {})[item.line] = None
    found = [RefusedKind(k, len(on), tuple(on)[:_EXAMPLES]) for k, on in lines.items()]
    return sorted(found, key=lambda each: (-each.lines, each.first))


def refused_file(table: Table, refused: Iterable[RefusedLine]) -> str:
    """The refused rows with line, column and reason in front, separated as they came.

    Of a file that was made so itself, the numbers of the lines in the first file stay.
    """
    by_line: dict[int, list[RefusedLine]] = {}
    for item in refused:
        by_line.setdefault(item.line, []).append(item)
    out = io.StringIO()
    # Every cell in quotes: another program may split at another sign.
    writer = csv.writer(out, delimiter=table.delimiter or ",", quoting=csv.QUOTE_ALL)
    own = refused_headers()
    again = list(table.columns[: len(own)]) == own
    kept = len(own) if again else 0
    writer.writerow([safe_cell(cell) for cell in [*own, *table.columns[kept:]]])
    for row in table.rows:
        if items := by_line.get(row.line):
            line = row.cells[0] if again else str(row.line)
            columns = " + ".join(dict.fromkeys(item.column for item in items if item.column))
            reasons = " ".join(item.reason for item in items)
            writer.writerow([safe_cell(c) for c in [line, columns, reasons, *row.cells[kept:]]])
    return out.getvalue()


def refused_headers() -> list[str]:
    """The columns in front: the first has a line's number in the file it was refused from."""
    return [_("refused line"), _("refused column"), _("refused because")]


def safe_cell(text: str) -> str:
    """The cell with an apostrophe before anything that could start a formula."""
    return f"'{text}" if text.startswith(_RUNS) else text
