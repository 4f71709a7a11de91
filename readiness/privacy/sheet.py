"""A child's record printed to be read: a tagged PDF of as many pages as it takes."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from django.db.models import Model
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from readiness.letters.drawing.paper import INK, SIDE, SOFT, paper
from readiness.letters.type import as_printed, without_type
from readiness.privacy.words import COLUMNS
from readiness.record.ladders import NamedLadder
from readiness.record.privacy.export import rows_of
from readiness.record.privacy.parts import PARTS
from readiness.typesetting.document import Box, Document, Page
from readiness.typesetting.lines import Line, Paragraph
from studio.models import Child

ABOVE, BELOW = 48.0, 48.0


class Kind(NamedTuple):
    """How a text is set, in points; ``before``: what is free above it."""

    tag: str
    size: float
    leading: float
    before: float
    bold: bool = False
    colour: str = INK


TITLE = Kind("H1", 18, 23, 0, bold=True)
HEADING = Kind("H2", 12, 16, 12, bold=True)
TEXT = Kind("P", 9.5, 12.5, 3)
SMALL = Kind("P", 8, 10, 0, colour=SOFT)
Text = tuple[Kind, str]


def record_sheet(child: Child, ladder: NamedLadder, studio: str, today: datetime.date) -> bytes:
    """Without what a child told staff in confidence, and with turns by the day."""
    title = _("Everything that is kept of %(name)s") % {"name": child.name}
    texts = [(kind, as_printed(text)) for kind, text in _texts(child, ladder, title, studio, today)]
    lacking = without_type(text for _kind, text in texts)
    if lacking:
        signs = str.maketrans(dict.fromkeys(lacking, "?"))
        texts = [(kind, text.translate(signs)) for kind, text in texts]
        texts.append((SMALL, _("“?” stands for letters that no typeface here has.")))
    document = Document(title, studio, title, "en", today)
    _Flow(document).set(texts)
    return document.file()


def _texts(
    child: Child, ladder: NamedLadder, title: str, studio: str, today: datetime.date
) -> Iterator[Text]:
    yield TITLE, title
    yield SMALL, f"{studio} · {date_format(today, 'j F Y')}"
    yield (
        TEXT,
        _(
            "As it is on record, table by table; turns are told by the day. Whoever works here is "
            "named with what they wrote down."
        ),
    )
    names = _names(ladder)
    yield HEADING, _("The child")
    records = Child.objects.filter(pk__in=child.records).order_by("pk")
    for record in records.values():
        yield TEXT, _row(Child, record, names)
    for part in PARTS:
        if not part.printed or part.in_confidence:
            continue
        rows = rows_of(part, child)
        if rows:
            yield HEADING, str(part.title)
        for row in rows:
            yield TEXT, _row(part.model, row, names)


def _names(ladder: NamedLadder) -> dict[str, str]:
    """What the ladder calls a drill, a surface, a fault, by its key."""
    called = {"drill": "name", "surface": "name", "fault": "sees"}
    return {
        each["key"]: each[name]
        for kind, name in called.items()
        for each in ladder.content.get(kind, [])
        if name in each
    }


def _row(model: type[Model], row: Mapping[str, Any], names: Mapping[str, str]) -> str:
    choices = {field.name: dict(field.flatchoices) for field in model._meta.concrete_fields}
    told = []
    for name, word in COLUMNS.items():
        value = row.get(name)
        if value not in (None, ""):
            said = choices.get(name, {}).get(value) or _said(value, names)
            told.append(f"{word}: {said}")
    return "; ".join(told)


def _said(value: Any, names: Mapping[str, str]) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, datetime.datetime):
        return date_format(localtime(value), "j M Y, H:i")
    if isinstance(value, datetime.date):
        return date_format(value, "j M Y")
    return names.get(str(value), str(value))


class _Flow:
    """Texts below each other, page after page; a heading is never the last on a page."""

    def __init__(self, document: Document) -> None:
        self._document, self._paper = document, paper()
        self._pages: list[Page] = []
        self._top = 0.0

    def set(self, texts: Sequence[Text]) -> None:
        for kind, text in texts:
            lines = Paragraph(text, kind.bold, base=None).lines(self._wide * 1000 / kind.size)
            keeps = 2 * TEXT.leading if kind is HEADING else 0
            if not self._pages or self._room < kind.before + kind.leading + keeps:
                self._turn_over()
            else:
                self._top -= kind.before
            self._put(kind, lines)
        for number, page in enumerate(self._pages, 1):
            said = _("Page %(n)d of %(all)d") % {"n": number, "all": len(self._pages)}
            line = Paragraph(said).lines(self._wide * 1000 / SMALL.size)
            box = Box(SIDE, BELOW - 14, self._wide)
            page.text(SMALL.tag, line, box, SMALL.size, SMALL.leading, SMALL.colour, 1)

    @property
    def _wide(self) -> float:
        return self._paper.wide

    @property
    def _room(self) -> float:
        return self._top - BELOW

    def _turn_over(self) -> None:
        self._pages.append(self._document.add_page(self._paper.width, self._paper.height))
        self._top = self._paper.height - ABOVE

    def _put(self, kind: Kind, lines: Sequence[Line]) -> None:
        while lines:
            fit = max(1, int(self._room / kind.leading))
            some, lines = lines[:fit], lines[fit:]
            box = Box(SIDE, self._top, self._wide)
            self._pages[-1].text(kind.tag, some, box, kind.size, kind.leading, kind.colour)
            self._top -= len(some) * kind.leading
            if lines:
                self._turn_over()
