"""One letter on an A4 page, or on two if it must."""

import io
import threading
from dataclasses import dataclass

from django.utils.translation import gettext as _
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, HRFlowable, Paragraph, Spacer

from readiness.letters.letter import Letter
from readiness.letters.type import faces, markup, without_type

MARGIN = 18 * mm
WIDTH: float = A4[0] - 2 * MARGIN
HEIGHT: float = A4[1] - 2 * MARGIN
SIGNATURE_ROOM = 12 * mm
# How many characters a refusal names.
MOST_NAMED = 10
# All letters share the faces, and a face is read like a file, from where it was left: one letter
# at a time.
_printing = threading.Lock()


@dataclass(frozen=True)
class Setting:
    """Type size and space between paragraphs, in points; leading as a share of the size."""

    size: float
    leading: float
    gap: float


# The first that fits the page is taken; nothing is ever set smaller than 11 point.
SETTINGS = (
    Setting(12.5, 1.36, 7),
    Setting(12, 1.34, 6),
    Setting(11.5, 1.3, 5),
    Setting(11, 1.28, 4),
    Setting(11, 1.2, 2.5),
)


class NotPrintable(Exception):
    """The letter cannot be printed right; the message says why, and what to do."""


def print_letter(letter: Letter) -> bytes:
    """The letter as a PDF: of one page if a setting fits, else of two. Raises NotPrintable; then
    nothing is printed."""
    lacking = without_type(letter.texts())
    if lacking:
        raise NotPrintable(_lacking(letter, lacking))
    with _printing:
        for setting in SETTINGS:
            page = _Page(letter, setting)
            if page.fits(1):
                return page.drawn()
        page = _Page(letter, SETTINGS[1])
        if page.fits(2):
            return page.drawn()
    raise NotPrintable(_too_long(letter))


def _lacking(letter: Letter, characters: list[str]) -> str:
    named = ", ".join(_named(character) for character in characters[:MOST_NAMED])
    return _(
        "The letter about %(child)s cannot be printed: no typeface here has %(characters)s. "
        "Write it another way, or leave it out."
    ) % {"child": letter.child, "characters": named}


def _named(character: str) -> str:
    """The character and its number; the number alone for one that cannot be shown."""
    number = f"U+{ord(character):04X}"
    return f"{character} ({number})" if character.isprintable() else number


def _too_long(letter: Letter) -> str:
    if letter.own:
        sentence = _("The letter about %(child)s is longer than two pages: shorten your sentence.")
    else:
        sentence = _(
            "The letter about %(child)s is longer than two pages: shorten the names of the "
            "drills on the ladder."
        )
    return sentence % {"child": letter.child}


class _Page:
    """A letter set in one size: the text from the top, the cautions at the bottom of the last
    page."""

    def __init__(self, letter: Letter, setting: Setting) -> None:
        self.letter = letter
        self.setting = setting
        self.body = [*self._head(), *self._text(), *self._signature()]
        self.foot = [self._rule(), self._paragraph(letter.cautions)]
        self.pages = _pages(self.body)

    def fits(self, pages: int) -> bool:
        apart = 2 * self.setting.gap
        last = _height(self.pages[-1]) + apart + _height(self.foot)
        return len(self.pages) == pages and last <= HEIGHT

    def drawn(self) -> bytes:
        file = io.BytesIO()
        canvas = Canvas(
            file,
            pagesize=A4,
            initialFontName=faces()[0].regular,
            lang=self.letter.language,
        )
        canvas.setTitle(self.letter.title)
        canvas.setAuthor(self.letter.sender.studio)
        canvas.setViewerPreference("DisplayDocTitle", "true")
        for number, page in enumerate(self.pages):
            if number:
                canvas.showPage()
            _draw(page, canvas, MARGIN + HEIGHT)
        _draw(self.foot, canvas, MARGIN + _height(self.foot))
        canvas.save()
        return file.getvalue()

    def _head(self) -> list[Flowable]:
        return [
            self._paragraph(self.letter.sender.studio, bold=True, larger=3),
            self._paragraph(self.letter.head, space=1),
            self._rule(),
            self._paragraph(self.letter.title, bold=True, larger=3),
        ]

    def _text(self) -> list[Flowable]:
        gap = self.setting.gap
        lines = [self._paragraph(self.letter.greeting)]
        if self.letter.own:
            lines.append(self._paragraph(self.letter.own))
        for section in self.letter.sections:
            lines.append(self._paragraph(section.heading, bold=True, space=gap * 1.6))
            lines += [self._paragraph(text, space=gap * 0.4) for text in section.paragraphs]
        return lines

    def _signature(self) -> list[Flowable]:
        line = HRFlowable(width=70 * mm, thickness=0.75, color="black", hAlign="LEFT")
        return [
            self._paragraph(self.letter.regards, space=self.setting.gap * 1.6),
            Spacer(1, SIGNATURE_ROOM),
            line,
            self._paragraph(self.letter.sender.coach, space=2),
            self._paragraph(self.letter.signs, space=0),
        ]

    def _rule(self) -> Flowable:
        return HRFlowable(
            width="100%", thickness=0.75, color="black", spaceBefore=self.setting.gap, spaceAfter=0
        )

    def _paragraph(
        self, text: str, bold: bool = False, larger: float = 0, space: float | None = None
    ) -> Flowable:
        size = self.setting.size + larger
        style = ParagraphStyle(
            "letter",
            fontName=faces()[0].bold if bold else faces()[0].regular,
            fontSize=size,
            leading=size * self.setting.leading,
            spaceBefore=self.setting.gap if space is None else space,
            splitLongWords=1,
            keepWithNext=bold,
        )
        return Paragraph(markup(text, size, bold, self.letter.names), style)


def _pages(flowables: list[Flowable]) -> list[list[Flowable]]:
    """Filled one after the other; a heading goes with what it is over."""
    pages: list[list[Flowable]] = [[]]
    for flowable in flowables:
        page = pages[-1]
        if page and _height([*page, flowable]) > HEIGHT:
            pages.append([])
            if page[-1].getKeepWithNext():
                pages[-1].append(page.pop())
        pages[-1].append(flowable)
    return pages


def _height(flowables: list[Flowable]) -> float:
    return float(
        sum(flowable.getSpaceBefore() + flowable.wrap(WIDTH, HEIGHT)[1] for flowable in flowables)
    )


def _draw(flowables: list[Flowable], canvas: Canvas, top: float) -> None:
    for flowable in flowables:
        top -= flowable.getSpaceBefore() + flowable.wrap(WIDTH, HEIGHT)[1]
        flowable.drawOn(canvas, MARGIN, top)
