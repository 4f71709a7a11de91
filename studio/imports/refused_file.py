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


@dataclass(frozen=True)
class RefusedLine:
    """Why a line was not taken: its number in the file, the column ("" for the whole line),
    and a sentence."""

    line: int
    column: str
    reason: str

    def as_json(self) -> dict[str, object]:
        return asdict(self)


def refused_file(table: Table, refused: Iterable[RefusedLine]) -> str:
    """The refused rows with line, column and reason in front, separated as they came."""
    by_line: dict[int, list[RefusedLine]] = {}
    for item in refused:
        by_line.setdefault(item.line, []).append(item)
    out = io.StringIO()
    # Every cell in quotes: another program may split at another sign.
    writer = csv.writer(out, delimiter=table.delimiter or ",", quoting=csv.QUOTE_ALL)
    header = [refused_line_header(), _("refused column"), _("refused because"), *table.columns]
    writer.writerow([safe_cell(cell) for cell in header])
    for row in table.rows:
        if items := by_line.get(row.line):
            columns = " + ".join(item.column for item in items if item.column)
            reasons = " ".join(item.reason for item in items)
            cells = [str(row.line), columns, reasons, *row.cells]
            writer.writerow([safe_cell(cell) for cell in cells])
    return out.getvalue()


def refused_line_header() -> str:
    """The name of the column with a line's number in the file it was refused from."""
    return _("refused line")


def safe_cell(text: str) -> str:
    """The cell with an apostrophe before anything that could start a formula."""
    return f"'{text}" if text.startswith(_RUNS) else text
