"""One letter on an A4 page, or on two if it must."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from readiness.letters.letter import Letter
from readiness.letters.type import without_type
from readiness.typesetting.document import Box, Document, Page
from readiness.typesetting.lines import Line, Paragraph, way_of

# In points.
MM = 72 / 25.4
A4 = (210 * MM, 297 * MM)
MARGIN = 18 * MM
WIDTH = A4[0] - 2 * MARGIN
HEIGHT = A4[1] - 2 * MARGIN
SIGNATURE_ROOM = 12 * MM
SIGNATURE_WIDTH = 70 * MM
THICKNESS = 0.75
# How many characters a refusal names.
MOST_NAMED = 10


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
    body, cautions = _body(letter), _Text("P", _set(letter, letter.cautions))
    for setting in SETTINGS:
        sheets = _Sheets(body, cautions, setting)
        if sheets.fit(1):
            return _drawn(letter, sheets)
    sheets = _Sheets(body, cautions, SETTINGS[1])
    if sheets.fit(2):
        return _drawn(letter, sheets)
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


@dataclass(frozen=True)
class _Text:
    """A paragraph, shaped for any setting. Before it are so many gaps of the setting and so many
    points; its type is larger by so many points."""

    tag: str
    paragraph: Paragraph
    gaps: float = 1
    points: float = 0
    larger: float = 0


@dataclass(frozen=True)
class _Rule:
    """A line across the page, or so far in from where the lines of text begin."""

    width: float = WIDTH
    gaps: float = 1
    points: float = 0


def _body(letter: Letter) -> list[_Text | _Rule]:
    return [*_head(letter), *_text(letter), *_signature(letter)]


def _set(letter: Letter, text: str, bold: bool = False, by_first_letter: bool = False) -> Paragraph:
    way = None if by_first_letter else way_of(letter.language)
    return Paragraph(text, bold, letter.names, way)


def _head(letter: Letter) -> Iterator[_Text | _Rule]:
    yield _Text("P", _set(letter, letter.sender.studio, bold=True), larger=3)
    yield _Text("P", _set(letter, letter.head), gaps=0, points=1)
    yield _Rule()
    yield _Text("H1", _set(letter, letter.title, bold=True), larger=3)


def _text(letter: Letter) -> Iterator[_Text]:
    yield _Text("P", _set(letter, letter.greeting))
    if letter.own:
        yield _Text("P", _set(letter, letter.own, by_first_letter=True))
    for section in letter.sections:
        yield _Text("H2", _set(letter, section.heading, bold=True), gaps=1.6)
        for text in section.paragraphs:
            yield _Text("P", _set(letter, text), gaps=0.4)


def _signature(letter: Letter) -> Iterator[_Text | _Rule]:
    yield _Text("P", _set(letter, letter.regards), gaps=1.6)
    yield _Rule(SIGNATURE_WIDTH, gaps=0, points=1 + SIGNATURE_ROOM)
    yield _Text("P", _set(letter, letter.sender.coach), gaps=0, points=3)
    yield _Text("P", _set(letter, letter.signs), gaps=0)


@dataclass(frozen=True)
class _Placed:
    """A paragraph or a rule in a setting: how much room it takes, and what is before it."""

    part: _Text | _Rule
    space: float
    lines: Sequence[Line] = ()
    size: float = 0
    leading: float = 0

    @property
    def is_heading(self) -> bool:
        return isinstance(self.part, _Text) and self.part.tag != "P"

    @property
    def height(self) -> float:
        own = THICKNESS if isinstance(self.part, _Rule) else len(self.lines) * self.leading
        return self.space + own

    def draw(self, page: Page, top: float) -> None:
        if isinstance(self.part, _Text):
            box = Box(MARGIN, top - self.space, WIDTH)
            page.text(self.part.tag, self.lines, box, self.size, self.leading)
        else:
            page.rule(Box(MARGIN, top - self.height, WIDTH), self.part.width, THICKNESS)


def _placed(part: _Text | _Rule, setting: Setting) -> _Placed:
    space = part.gaps * setting.gap + part.points
    if isinstance(part, _Rule):
        return _Placed(part, space)
    size = setting.size + part.larger
    lines = part.paragraph.lines(WIDTH * 1000 / size)
    return _Placed(part, space, lines, size, size * setting.leading)


class _Sheets:
    """A letter set in one size: the text from the top, the cautions at the bottom of the last
    page."""

    def __init__(self, body: Sequence[_Text | _Rule], cautions: _Text, setting: Setting) -> None:
        self.pages = _pages([_placed(part, setting) for part in body])
        self.foot = [_placed(_Rule(), setting), _placed(cautions, setting)]
        self._apart = 2 * setting.gap

    def fit(self, pages: int) -> bool:
        last = _height(self.pages[-1]) + self._apart + _height(self.foot)
        return len(self.pages) == pages and last <= HEIGHT


def _pages(placed: Sequence[_Placed]) -> list[list[_Placed]]:
    """Filled one after the other; a heading goes with what it is over."""
    pages: list[list[_Placed]] = [[]]
    for each in placed:
        page = pages[-1]
        if page and _height([*page, each]) > HEIGHT:
            pages.append([])
            if page[-1].is_heading:
                pages[-1].append(page.pop())
        pages[-1].append(each)
    return pages


def _height(placed: Sequence[_Placed]) -> float:
    return sum(each.height for each in placed)


def _drawn(letter: Letter, sheets: _Sheets) -> bytes:
    document = Document(
        letter.title, letter.sender.studio, letter.subject, letter.language, letter.day
    )
    for placed in sheets.pages:
        page = document.add_page(*A4)
        _draw(placed, page, MARGIN + HEIGHT)
    _draw(sheets.foot, page, MARGIN + _height(sheets.foot))
    return document.file()


def _draw(placed: Sequence[_Placed], page: Page, top: float) -> None:
    for each in placed:
        each.draw(page, top)
        top -= each.height
