"""Dates in a column of a table: one order of day and month for the whole column.

Pure Python. Read row by row, 02/01 would go one way and 31/12 the other; so the column is
looked at as a whole, and where it is undecided, somebody is asked.
Shared: used by the roster and the paper log.
"""

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.imports.refused_file import CellError

DAY_FIRST = "day-first"
MONTH_FIRST = "month-first"
ORDERS = {DAY_FIRST: gettext_lazy("day first"), MONTH_FIRST: gettext_lazy("month first")}

_TIME = r"(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?)?"
_ISO = re.compile(rf"(\d{{4}})([-/.])(\d{{1,2}})\2(\d{{1,2}}){_TIME}")
_NUMBERS = re.compile(rf"(\d{{1,2}})([-/.]) ?(\d{{1,2}})\2 ?(\d{{4}}){_TIME}")
# With hyphens a year of two digits could as well come first.
_SHORT = re.compile(rf"(\d{{1,2}})([/.]) ?(\d{{1,2}})\2 ?(\d{{2}}){_TIME}")
_YEAR = re.compile(r"(?:19|20)\d\d")
_YEAR_MONTH = re.compile(r"(\d{4})[-/.](\d{1,2})")
_MONTH_YEAR = re.compile(r"(\d{1,2})[-/.](\d{4})")

# Days as spreadsheet programs count them (1900 date system): 1954-10-03 to 2099-12-31.
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
_SERIAL_ZERO = datetime.date(1899, 12, 30)
_SERIALS = range(20_000, 73_051)


class DateError(CellError):
    """A cell that holds no date."""


@dataclass(frozen=True)
class DateColumn:
    """How a column writes its dates.

    ``order`` is DAY_FIRST, MONTH_FIRST, or "" if no cell depends on it. ``ask`` is true if
    the column leaves it open: then ``examples`` are cells that can be read both ways,
    or one cell for each of two orders that contradict each other.
    """

    order: str
    ask: bool = False
    examples: tuple[str, ...] = ()


def read_date_column(cells: Iterable[str], chosen: str | None = None) -> DateColumn:
    """Decide the order of a column; ``chosen``, somebody's answer, decides."""
    if chosen:
        return DateColumn(chosen)
    evidence: dict[str, str] = {}
    open_cells: list[str] = []
    for cell in cells:
        day_first, month_first = (_numbers(cell, order) for order in ORDERS)
        if day_first and month_first and day_first != month_first:
            open_cells.append(cell)
        elif day_first and not month_first:
            evidence.setdefault(DAY_FIRST, cell)
        elif month_first and not day_first:
            evidence.setdefault(MONTH_FIRST, cell)
    if len(evidence) == 1:
        return DateColumn(next(iter(evidence)))
    if evidence:
        return DateColumn("", ask=True, examples=tuple(evidence.values()))
    if not open_cells:
        return DateColumn("")
    if all("." in cell for cell in open_cells):
        # Dates with dots are written day first wherever dots are used.
        return DateColumn(DAY_FIRST)
    return DateColumn("", ask=True, examples=tuple(open_cells[:2]))


def read_date(cell: str, order: str, newest: datetime.date) -> datetime.date:
    """The date in a cell. A year of two digits is the last such year up to ``newest``.

    Raises DateError for what is no date, cannot be one in this order, or is later than
    ``newest``.
    """
    day = _unordered(cell) or _numbers(cell, order or DAY_FIRST, newest)
    if day is None:
        raise _no_date(cell, order)
    if day > newest:
        raise DateError(_("%(cell)s is in the future."), cell=cell)
    return day


def read_month(cell: str, order: str, newest: datetime.date) -> tuple[int, int | None]:
    """Year and month of a cell that holds a whole date, or only the month: 2016-04, 4/2016.

    No month where it holds only a year."""
    if _YEAR.fullmatch(cell):
        year, month = int(cell), None
    elif match := _YEAR_MONTH.fullmatch(cell):
        year, month = int(match[1]), int(match[2])
    elif match := _MONTH_YEAR.fullmatch(cell):
        year, month = int(match[2]), int(match[1])
    else:
        day = read_date(cell, order, newest)
        return day.year, day.month
    if month is not None and not 1 <= month <= 12:
        raise DateError(_("%(cell)s: there is no such month."), cell=cell)
    if (year, month or 1) > (newest.year, newest.month):
        raise DateError(_("%(cell)s is in the future."), cell=cell)
    return year, month


def is_whole_date(cell: str) -> bool:
    """Whether a cell names a day, and not only a month."""
    return not (_YEAR.fullmatch(cell) or _YEAR_MONTH.fullmatch(cell) or _MONTH_YEAR.fullmatch(cell))


def looks_like_date(cell: str) -> bool:
    """Whether a spreadsheet program may have made a date of what was typed here."""
    return bool(_ISO.fullmatch(cell) or _NUMBERS.fullmatch(cell) or _SHORT.fullmatch(cell)) or (
        re.fullmatch(r"\d{1,2}[-. ]+[^\W\d_]{3,}\.?", cell) is not None
    )


def _unordered(cell: str) -> datetime.date | None:
    """An ISO date or a spreadsheet's day number: no order to decide."""
    if match := _ISO.fullmatch(cell):
        return _date(int(match[1]), int(match[3]), int(match[4]))
    if _SERIAL.fullmatch(cell):
        days = int(re.split("[.,]", cell)[0])
        if days in _SERIALS:
            return _SERIAL_ZERO + datetime.timedelta(days=days)
    return None


def _numbers(
    cell: str, order: str, newest: datetime.date = datetime.date(2099, 12, 31)
) -> datetime.date | None:
    match = _NUMBERS.fullmatch(cell) or _SHORT.fullmatch(cell)
    if match is None:
        return None
    one, two, year = int(match[1]), int(match[3]), int(match[4])
    day, month = (two, one) if order == MONTH_FIRST else (one, two)
    if year < 100:
        century = newest.year - newest.year % 100
        year += century if year <= newest.year % 100 else century - 100
    return _date(year, month, day)


def _date(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return None


def _no_date(cell: str, order: str) -> DateError:
    if not (_NUMBERS.fullmatch(cell) or _SHORT.fullmatch(cell) or _ISO.fullmatch(cell)):
        sentence = _("%(cell)s cannot be read as a date. Write it as year-month-day.")
        return DateError(sentence, cell=cell)
    if order and not _ISO.fullmatch(cell):
        sentence = _("%(cell)s, read %(order)s: there is no such day.")
        return DateError(sentence, cell=cell, order=ORDERS[order])
    return DateError(_("%(cell)s: there is no such day."), cell=cell)
