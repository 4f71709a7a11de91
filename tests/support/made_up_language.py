"""A made-up language that shows which text was never offered for translation.

Every translated string comes out in Cyrillic letters, letter by letter, and everything that
staff type or a ladder file holds is put into Greek ones. So a Latin letter that is left on a
page was written into the program and will stay English in every other language.
"""

import re
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from django.utils import translation

from progression.models import LadderVersion
from readiness.record.standings import digest_of
from studio.models import Child, ClassGroup, Location, SpottingConsent, Staff, Studio
from tests.support import guards

LATIN = "abcdefghijklmnopqrstuvwxyz"
CYRILLIC = str.maketrans(
    LATIN + LATIN.upper(), "абцдефгхијклмнопярстувшќўз" + "АБЦДЕФГХИЈКЛМНОПЯРСТУВШЌЎЗ"
)
GREEK = str.maketrans(
    LATIN + LATIN.upper(), "αβγδεφχηιξκλμνοπθρστυϋωζψϊ" + "ΑΒΓΔΕΦΧΗΙΞΚΛΜΝΟΠΘΡΣΤΥΫΩΖΨΪ"
)
# What a translator leaves as it is: placeholders, tags, entities.
_KEPT = re.compile(r"%\(\w+\)[a-z]|%[sd%]|\{\w*\}|<[^>]*>|&\w+;")

# The parts of a ladder file that are words for people; all else is codes and numbers.
LADDER_WORDS = {
    "title", "name", "set_up", "counts", "cues", "sees", "leads_to", "words", "also", "note",
    "sets_note", "text", "view", "unseen", "sign", "pace", "hands", "letter",
}  # fmt: skip


def translated(message: object) -> str:
    """The message in the made-up language."""
    text, done, last = str(message), "", 0
    for kept in _KEPT.finditer(text):
        done += text[last : kept.start()].translate(CYRILLIC) + kept.group()
        last = kept.end()
    return done + text[last:].translate(CYRILLIC)


def speak(patch: pytest.MonkeyPatch) -> None:
    """From now on gettext answers in the made-up language, lazy strings and templates too."""

    def plural(one: str, many: str, n: int) -> str:
        return translated(one if n == 1 else many)

    answers: dict[str, Callable[..., str]] = {
        "gettext": translated,
        "ngettext": plural,
        "pgettext": lambda context, message: translated(message),
        "npgettext": lambda context, one, many, n: plural(one, many, n),
    }
    for name, answer in answers.items():
        patch.setattr(translation._trans, name, answer)


def greek(value: Any) -> Any:
    """A value with every Latin letter of its text turned into a Greek one."""
    if isinstance(value, str):
        return value.translate(GREEK)
    if isinstance(value, list):
        return [greek(each) for each in value]
    return value


def ladder_in_greek(value: Any, key: str = "") -> Any:
    if isinstance(value, dict):
        return {name: ladder_in_greek(each, name) for name, each in value.items()}
    if key in LADDER_WORDS and not (isinstance(value, list) and value and _is_table(value[0])):
        return greek(value)
    if isinstance(value, list):
        return [ladder_in_greek(each) for each in value]
    return value


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def put_into_greek() -> None:
    """Everything that is in the database so far and that people have written."""
    for version in LadderVersion.objects.all():
        content = ladder_in_greek(version.content)
        with guards.lifted():
            LadderVersion.objects.filter(pk=version.pk).update(
                content=content, digest=digest_of(content)
            )
    columns = {
        Studio: ["name"],
        Location: ["name", "address"],
        ClassGroup: ["name"],
        Staff: ["username", "first_name", "last_name"],
        Child: ["name", "name_key", "name_used", "guardian"],
        SpottingConsent: ["seen_by"],
    }
    # Answers are only ever added to; these are of a family that writes in Greek.
    with guards.lifted():
        for model, names in columns.items():
            for row in model.objects.all():
                for name in names:
                    setattr(row, name, greek(getattr(row, name)))
                row.save(update_fields=names)


# Attributes that are read out or shown.
SHOWN = ("alt", "title", "placeholder", "aria-label", "aria-description", "label", "content")
# Elements whose text is code, data, or not shown; translate="no" says the same of any other.
NOT_PROSE = {"script", "style", "code", "kbd", "samp", "pre"}
VOID = {
    "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr",
}  # fmt: skip


class Words(HTMLParser):
    """Collects the pieces of visible text of a page, attributes that are shown included."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag not in VOID:
            self._open.append("code" if given.get("translate") == "no" else tag)
        if tag == "meta" and given.get("name") != "description":
            return
        self.found += [given[name] for name in SHOWN if name in given]
        if tag == "input" and given.get("type") in ("submit", "button", "reset"):
            self.found.append(given.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if self._open and tag not in VOID:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if not NOT_PROSE.intersection(self._open):
            self.found.append(data)


def latin_in(pieces: Iterator[str] | list[str]) -> list[str]:
    """The pieces with a Latin letter in them."""
    return [" ".join(piece.split()) for piece in pieces if re.search("[A-Za-z]", piece)]


def words_in(html: str) -> list[str]:
    parser = Words()
    parser.feed(html)
    parser.close()
    return parser.found
