"""One letter on a page of the studio's paper, or on two if it must."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from readiness.letters.drawing import foot
from readiness.letters.drawing.blocks import Block, Free, Setter, Stack, Text, Type, height
from readiness.letters.drawing.head import head
from readiness.letters.drawing.paper import SIDE, Paper, paper
from readiness.letters.letter import Letter
from readiness.letters.type import without_type
from readiness.typesetting.document import Document, Page

# How many characters a refusal names.
MOST_NAMED = 10
BETWEEN_COLUMNS = 22.0
# With one part only, lines as long as the page would be too long to read.
ONE_COLUMN = 0.74


@dataclass(frozen=True)
class Setting:
    """Type size and leading of the two columns, and the space between their parts, in points; how
    many holds that grew are drawn: the others are told only."""

    size: float
    leading: float
    gap: float
    drawn: int = 2


# The first that fits the page is taken; the letter's own text is never set smaller than 11 point.
SETTINGS = (
    Setting(11.5, 15, 6),
    Setting(11, 14.2, 5),
    Setting(11, 13.8, 3, drawn=1),
    Setting(11, 13.2, 2, drawn=1),
)


class NotPrintable(Exception):
    """The letter cannot be printed right; the message says why, and what to do."""


def print_letter(letter: Letter) -> bytes:
    """The letter as a PDF: of one page if a setting fits, else of two. Raises NotPrintable; then
    nothing is printed."""
    lacking = without_type(letter.texts())
    if lacking:
        raise NotPrintable(_lacking(letter, lacking))
    sheet = paper()
    fixed = _Fixed(letter, sheet)
    for setting in SETTINGS:
        parts = _Parts(fixed, setting)
        if parts.free_on_one_page() >= 0:
            return _drawn(letter, sheet, [parts.one_page()])
    pages = _Parts(fixed, SETTINGS[1]).two_pages()
    if not pages:
        raise NotPrintable(_too_long(letter))
    return _drawn(letter, sheet, pages)


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


class _Fixed:
    """What is the same in every setting: what stands above the two columns, the home band, the
    end, and the slip at the foot of the last page."""

    def __init__(self, letter: Letter, sheet: Paper) -> None:
        self.letter, self.sheet, self.setter = letter, sheet, Setter(letter)
        wide, beside = sheet.wide, letter.beside
        self.above = head(letter, self.setter, wide)
        self.bands = [
            foot.at_home(beside, section, self.setter, wide)
            for section in letter.sections
            if section.at_home
        ]
        self.end = foot.end(letter, self.setter, wide)
        self.slip = foot.slip(letter, self.setter, wide)
        self.in_class = [each for each in letter.sections if not each.at_home]
        single = len(self.in_class) == 1 and not beside.grown
        self.columns = 1 if single else 2
        self.column = ONE_COLUMN * wide if single else (wide - BETWEEN_COLUMNS) / 2


class _Parts:
    """The parts of a letter in one setting."""

    def __init__(self, fixed: _Fixed, setting: Setting) -> None:
        self._fixed, self._setting, self._sheet = fixed, setting, fixed.sheet
        self.above, self.slip = fixed.above, fixed.slip

    @cached_property
    def blocks(self) -> list[Block]:
        """What flows through the columns."""
        text = Type(self._setting.size, self._setting.leading)
        setter, wide = self._fixed.setter, self._fixed.column
        found: list[Block] = []
        for section in self._fixed.in_class:
            heading = setter.text(section.heading, foot.HEADING, wide)
            found += [Free(1.5 * self._setting.gap), heading]
            for paragraph in section.paragraphs:
                found.append(Free(0.5 * self._setting.gap))
                found.append(setter.text(paragraph, text, wide))
        beside = self._fixed.letter.beside
        for block in foot.growth(beside, setter, wide, self._setting.drawn):
            found += [Free(1.5 * self._setting.gap), block]
        return found

    @cached_property
    def below(self) -> list[Block]:
        gap, found = self._setting.gap, list[Block]()
        for band in self._fixed.bands:
            found += [Free(2 * gap), band]
        return [*found, Free(2 * gap), self._fixed.end, Free(gap + 2)]

    @cached_property
    def columns(self) -> list[list[Block]]:
        return self._split(self.blocks)

    def free_on_one_page(self) -> float:
        """How much is left of a page with everything on it."""
        return self._left_over([*self.below, self.slip], self.columns, self.above.height)

    def _left_over(
        self, below: Sequence[Block], columns: Sequence[Sequence[Block]], above: float
    ) -> float:
        return self._sheet.high - above - max(map(height, columns)) - height(below)

    def _split(self, blocks: Sequence[Block]) -> list[list[Block]]:
        """In columns that are as even as they can be, of which none ends with a heading."""
        if self._fixed.columns == 1:
            return [_trimmed(blocks)]
        cuts = [cut for cut in range(1, len(blocks) + 1) if _may_end(blocks[:cut])]
        pairs = [[_trimmed(blocks[:cut]), _trimmed(blocks[cut:])] for cut in cuts]
        return min(pairs, key=lambda pair: max(map(height, pair)), default=[[], []])

    def one_page(self) -> "_Sheet":
        free = self.free_on_one_page()
        return _Sheet(
            self.above, self.columns, self._fixed.column, _spread(self.below, free), self.slip
        )

    def two_pages(self) -> list["_Sheet"]:
        """As much as goes on the first, with nothing behind the slip of the second; empty where
        two pages do not hold it."""
        room = self._sheet.high - self.above.height - self.slip.height
        columns, rest = self._filled(room)
        below = self.below
        left = room - max(map(height, columns))
        first = 2 * len(self._fixed.bands) if not rest else 0
        if height(below[:first]) > left:
            first = 0
        second = self._split(rest)
        if room < 0 or self._left_over([*below[first:], self.slip], second, 0) < 0:
            return []
        wide = self._fixed.column
        return [
            _Sheet(self.above, columns, wide, below[:first], Stack()),
            _Sheet(Stack(), second, wide, below[first:], self.slip),
        ]

    def _filled(self, room: float) -> tuple[list[list[Block]], list[Block]]:
        """Columns of so much room, and what does not go into them."""
        if max(map(height, self.columns)) <= room:
            return self.columns, []
        columns, rest = [], list(self.blocks)
        for _column in range(self._fixed.columns):
            cuts = [
                cut
                for cut in range(len(rest) + 1)
                if height(_trimmed(rest[:cut])) <= room and _may_end(rest[:cut])
            ]
            cut = max(cuts, default=0)
            columns.append(_trimmed(rest[:cut]))
            rest = rest[cut:]
        return columns, rest


def _may_end(blocks: Sequence[Block]) -> bool:
    seen = [block for block in blocks if not isinstance(block, Free)]
    return not (seen and isinstance(seen[-1], Text) and seen[-1].needs_the_next)


def _trimmed(blocks: Sequence[Block]) -> list[Block]:
    """Without what is free at the beginning."""
    first = next((at for at, each in enumerate(blocks) if not isinstance(each, Free)), len(blocks))
    return list(blocks[first:])


def _spread(blocks: Sequence[Block], free: float) -> list[Block]:
    """With some of what a page has left shared out between the parts."""
    gaps = sum(isinstance(block, Free) for block in blocks)
    more = min(free / gaps, 12)
    return [Free(block.height + more) if isinstance(block, Free) else block for block in blocks]


@dataclass(frozen=True)
class _Sheet:
    """What stands on one page."""

    above: Stack
    columns: Sequence[Sequence[Block]]
    wide: float
    below: Sequence[Block]
    slip: Stack


def _drawn(letter: Letter, sheet: Paper, pages: Sequence[_Sheet]) -> bytes:
    document = Document(
        letter.title, letter.sender.studio, letter.subject, letter.language, letter.day
    )
    for each in pages:
        _draw(each, document.add_page(sheet.width, sheet.height), sheet)
    return document.file()


def _draw(each: _Sheet, page: Page, sheet: Paper) -> None:
    each.above.draw(page, SIDE, sheet.top)
    top = sheet.top - each.above.height
    for at, column in enumerate(each.columns):
        Stack(list(column)).draw(page, SIDE + at * (each.wide + BETWEEN_COLUMNS), top)
    top -= max(map(height, each.columns), default=0)
    Stack(list(each.below)).draw(page, SIDE, top)
    each.slip.draw(page, SIDE, sheet.height - sheet.top + each.slip.height)
