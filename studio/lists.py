"""A list given out as a file for a spreadsheet; on paper it is the page itself (print.css).

Shared: used by every page with a list; templates/includes/list_actions.html has its buttons.
"""

import csv
import datetime
import io
from collections.abc import Iterable, Sequence

from django.http import HttpRequest, HttpResponse

from studio.imports.refused_file import safe_cell


def wants_file(request: HttpRequest) -> bool:
    """Whether the list is asked for as a file; a form's own word comes before the address."""
    return (request.POST.get("as") or request.GET.get("as")) == "csv"


def csv_text(columns: Sequence[object], rows: Iterable[Sequence[object]]) -> str:
    """Every cell in quotes, none that a spreadsheet would run as a formula; None is empty."""
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    for row in (columns, *rows):
        writer.writerow([safe_cell("" if cell is None else str(cell)) for cell in row])
    return out.getvalue()


def csv_answer(text: str, name: str, day: datetime.date | None = None) -> HttpResponse:
    """The file as a download, its day in its name; spreadsheets know UTF-8 by its mark."""
    answer = HttpResponse(text.encode("utf-8-sig"), content_type="text/csv; charset=utf-8")
    stem = f"{name}-{day}" if day else name
    answer["Content-Disposition"] = f'attachment; filename="{stem}.csv"'
    return answer
