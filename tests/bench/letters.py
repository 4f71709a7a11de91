"""Five hundred letters: written, and printed into one file, against a bare script of reportlab that
draws as many strings and lines in the same faces.

The bare script knows where everything stands: it measures, breaks, shapes and tags nothing. Both
draw in turns in one process, and what counts is the processor's time. The memory is that of the
command that prints all, from the record to the file.
"""

import io
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

import time_machine
from django.core.management import call_command
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from readiness.letters.kept.files import Named, one_file
from readiness.letters.letter import Letter
from readiness.letters.many.page import children_with_letters
from readiness.letters.many.preparing import Broken, Prepared, prepare, prepared
from readiness.letters.sheet import print_letter
from readiness.management.commands.print_letters import AT_ONCE
from readiness.models import PrintedLetter
from readiness.typesetting.document import Box, Page
from readiness.typesetting.drawing import Drawing
from readiness.typesetting.faces import FONTS
from readiness.typesetting.lines import Line
from studio.models import Child, Staff
from tests.bench.counting import counted
from tests.bench.kept import copy_of
from tests.bench.measure import Limit, Options, Result, processor_ms, spread
from tests.bench.rebuild import forget_most_held, most_held
from tests.bench.record import NOW, Shape

# Eight months of classes, and a placing before the first of them.
CLASS = Shape(children=500, days=60, a_day=10, every=4, placed=240)
FULL_CLASS = Shape(children=500, days=600, a_day=10, every=4, placed=2400)
# Those that a script without a shaper can draw.
LANGUAGES = ("en", "es", "fr", "pt", "de")
ROUNDS = 4

MOST_RATIO = 2.0
MOST_WRITING_MS = 15.0
MOST_MEMORY_MB = 0.15


@dataclass
class Sheet:
    """What is drawn on a page: each string with its face, its size and its place, and how many
    lines and shapes."""

    width: float
    height: float
    strings: list[tuple[str, float, float, float, str]] = field(default_factory=list)
    lines: int = 0


class Studio:
    """The children of a record, and what was measured of their letters."""

    def __init__(self, folder: Path) -> None:
        self.director = Staff.objects.get(role=Staff.Role.DIRECTOR)
        for nth, child in enumerate(Child.objects.order_by("pk")):
            child.letter_language = LANGUAGES[nth % len(LANGUAGES)]
            child.save()
        self.children = children_with_letters(self.director, NOW)
        self.file = folder / "letters.pdf"
        self.letters: list[Letter] = []
        self.writing: list[float] = []
        self.drawing: list[float] = []
        self.bare: list[float] = []
        self.command = self.memory = 0.0

    def batches(self) -> Iterator[Sequence[Child]]:
        """As many at a time as the command takes."""
        for start in range(0, len(self.children), AT_ONCE):
            yield self.children[start : start + AT_ONCE]

    def read_all(self) -> None:
        """By a director, so that none waits."""
        for batch in self.batches():
            for each in self.written(batch):
                prepare(each, {}, self.director, NOW, reads=True)

    def written(self, batch: Sequence[Child]) -> list[Prepared]:
        found = prepared(batch, self.director, NOW)
        assert not any(isinstance(each, Broken) for each in found)
        return [each for each in found if isinstance(each, Prepared)]

    def print_by_command(self) -> None:
        """All of them; the memory that it takes more than was held before, in MB."""
        forget_most_held()
        before = most_held()
        told = io.StringIO()
        self.command = processor_ms(
            lambda: call_command("print_letters", all=True, out=self.file, stdout=told)
        )
        self.memory = (most_held() - before) / 1024
        assert PrintedLetter.objects.count() == len(self.children), told.getvalue()

    def write(self) -> None:
        for batch in self.batches():
            found: list[Prepared] = []
            took = processor_ms(lambda batch=batch, found=found: found.extend(self.written(batch)))
            self.writing.append(took / len(batch))
            self.letters += [each.letter for each in found]

    def queries(self, children: Sequence[Child]) -> int:
        with counted() as found:
            self.written(children)
        return found.queries

    def draw(self, sheets: Sequence[Sheet]) -> None:
        self.bare.append(processor_ms(lambda: draw_bare(sheets)) / len(self.letters))
        self.drawing.append(processor_ms(lambda: in_one_file(self.letters)) / len(self.letters))


def in_one_file(letters: Sequence[Letter]) -> bytes:
    """Drawn one by one, as they are kept."""
    kept = [PrintedLetter(day=letter.day, file=print_letter(letter)) for letter in letters]
    named = zip(letters, kept, strict=True)
    return one_file([Named(letter.child, printed) for letter, printed in named])


@contextmanager
def watched() -> Iterator[dict[Page, Sheet]]:
    """What is drawn meanwhile, by page."""
    sheets: dict[Page, Sheet] = {}
    text, draw = Page.text, Page.draw

    def sheet(page: Page) -> Sheet:
        return sheets.setdefault(page, Sheet(page.width, page.height))

    def see_text(
        page: Page, tag: str, lines: Sequence[Line], box: Box, size: float, leading: float,
        *more: Any,
    ) -> None:  # fmt: skip
        for at, line in enumerate(lines):
            place = box.start, box.top - size - at * leading
            for run in line.runs:
                sheet(page).strings.append((run.weight.name, size, *place, run.text))
        text(page, tag, lines, box, size, leading, *more)

    def see_drawing(page: Page, drawing: Drawing, *more: Any) -> None:
        sheet(page).lines += sum(operator in ("S", "f") for operator in drawing.operators)
        draw(page, drawing, *more)

    with patch.object(Page, "text", see_text), patch.object(Page, "draw", see_drawing):
        yield sheets


def draw_bare(sheets: Sequence[Sheet]) -> bytes:
    for face in sorted({string[0] for sheet in sheets for string in sheet.strings}):
        pdfmetrics.registerFont(TTFont(face, str(FONTS / f"{face}.ttf")))
    file = io.BytesIO()
    canvas = Canvas(file)
    for sheet in sheets:
        canvas.setPageSize((sheet.width, sheet.height))
        for face, size, left, baseline, text in sheet.strings:
            canvas.setFont(face, size)
            canvas.drawString(left, baseline, text)
        for height in range(sheet.lines):
            canvas.line(50, height, 500, height)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def run(options: Options) -> Result:
    shape = FULL_CLASS if options.full else CLASS
    folder = Path(os.environ["LADDER_BENCH_FOLDER"])
    with copy_of("letters", shape) as copy, copy.used(), time_machine.travel(NOW):
        studio = Studio(folder)
        studio.read_all()
        # First, while the process holds nothing of letters.
        studio.print_by_command()
        studio.write()
        few, many = (studio.queries(studio.children[:n]) for n in (1, AT_ONCE))
        with watched() as seen:
            in_one_file(studio.letters)
        sheets = list(seen.values())
        for _ in range(ROUNDS):
            studio.draw(sheets)
        return _result(studio, shape, sheets, few, many)


def _result(studio: Studio, shape: Shape, sheets: Sequence[Sheet], few: int, many: int) -> Result:
    letters = len(studio.letters)
    about = {
        "record": shape.told(),
        "letters": letters,
        "pages": len(sheets),
        "strings on a page": sum(len(sheet.strings) for sheet in sheets) // len(sheets),
        "lines on a page": sum(sheet.lines for sheet in sheets) // len(sheets),
        "MB in one file": round(studio.file.stat().st_size / 1e6, 1),
        "ms a letter by the command": round(studio.command / letters, 1),
        "queries for one letter and for a batch": f"{few} and {many}",
    }
    spreads = [
        spread("a letter written", studio.writing),
        spread("a letter drawn and put into the file", studio.drawing),
        spread("as much by the bare script", studio.bare),
    ]
    ratio = spreads[1].median / spreads[2].median
    limits = [
        Limit("drawn into one file against the bare script", ratio, MOST_RATIO),
        Limit("a letter written, in ms", spreads[0].median, MOST_WRITING_MS),
        Limit("memory for a letter, in MB", studio.memory / letters, MOST_MEMORY_MB),
        Limit("queries for a batch against one letter", many / few, 1.0),
    ]
    return Result("letters", about, spreads, limits)
