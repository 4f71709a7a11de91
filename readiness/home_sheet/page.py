"""What a child's home sheet shows, in the family's language, and what staff is told before it is
printed."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils import timezone, translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.engine.support import barred
from readiness.home_sheet.words import KEEPS, Words, words
from readiness.letters.beside.page import AT_HOME
from readiness.letters.format import letter_date, name_list
from readiness.letters.ladder_words import name_and_what, told
from readiness.letters.languages.reading import letter_languages
from readiness.letters.letter import direction_of, language_not_met, language_of
from readiness.letters.type import on_one_line
from readiness.record.standings import Reading
from studio.models import Child
from studio.people.language import ENGLISH, language_name
from studio.people.told_apart import who


@dataclass(frozen=True)
class Shape:
    """``says``: the ladder's line for families; ``keeps``: what can be seen while it holds."""

    name: str
    says: str
    keeps: str
    figure: str


@dataclass(frozen=True)
class Sheet:
    """``lacking``: the drills that stand in it in the ladder's own words, since it has none in
    the sheet's language."""

    language: str
    direction: str
    date: str
    words: Words
    shapes: tuple[Shape, ...]
    lacking: tuple[str, ...]


def home_context(reading: Reading) -> dict[str, object]:
    """No sheet while the child is paused, or on the way back after a head knock; without the shapes
    that load what hurts."""
    state, child = reading.read.state, reading.child
    head_way = state.head is not None and not state.head.is_over
    rests = state.paused_since is not None or head_way
    keys = [] if rests else [key for key in AT_HOME if _may(reading, key)]
    sheet = sheet_of(reading, keys) if keys else None
    return {
        "child": child,
        "who": who(child, reading.read.day),
        # As in letters: what tells two of one name apart is in words for staff.
        "full_name": on_one_line(child.name),
        "rests": rests,
        "sheet": sheet,
        "notices": list(_before_printing(child, sheet)) if sheet else [],
        "left_out": not rests and len(keys) < len(AT_HOME),
    }


def sheet_of(reading: Reading, keys: list[str]) -> Sheet:
    drills = {key: reading.ladder.drills[key] for key in keys}
    language = language_of(reading.child)
    with translation.override(language):
        lines = {key: told(drill, "letter") for key, drill in drills.items()}
        return Sheet(
            language=language,
            direction=direction_of(language),
            date=letter_date(reading.read.day),
            words=words(),
            shapes=tuple(_shape(reading, key, lines[key]) for key in keys),
            lacking=tuple(drill["name"] for key, drill in drills.items() if lines[key] is None),
        )


def _may(reading: Reading, key: str) -> bool:
    ladder = reading.ladder.engine
    drill = ladder.drills.get(key)
    return drill is not None and not barred(drill, reading.read.state, ladder, reading.read.day)


def _shape(reading: Reading, key: str, line: str | None) -> Shape:
    """In the ladder's own words where it has no line in the language."""
    drill = reading.ladder.drills[key]
    own = drill.get("letter") or drill["name"]
    name, says = name_and_what(line or own)
    figure = f"readiness/home_sheet/figures/{key}.html"
    return Shape(name, says[:1].upper() + says[1:], str(KEEPS[key]), figure)


def _before_printing(child: Child, sheet: Sheet) -> Iterator[str]:
    """What staff is told of the sheet's language."""
    if wish := language_not_met(child):
        yield _(
            "The family reads %(language)s. There is no home sheet in it yet: this one is in "
            "English. Say it to them when you give it."
        ) % {"language": wish}
    if sheet.language != ENGLISH:
        yield _who_has_read(sheet.language)
    if sheet.lacking:
        yield _(
            "The ladder has no words in %(language)s for what this sheet names, so its own words "
            "stand in it: %(names)s."
        ) % {"language": language_name(sheet.language), "names": name_list(sheet.lacking)}


def _who_has_read(language: str) -> str:
    (found,) = (each for each in letter_languages() if each.code == language)
    if found.read is None:
        return _(
            "This sheet is in %(language)s. Nobody who grew up with it has read its sentences yet."
        ) % {"language": found.name}
    return _(
        "This sheet is in %(language)s. %(reader)s has read its sentences, written down on "
        "%(day)s; what was changed since has not been read."
    ) % {
        "language": found.name,
        "reader": found.read.reader,
        "day": date_format(timezone.localtime(found.read.at), "j M Y"),
    }
