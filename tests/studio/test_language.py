"""Text that nobody could translate: every page, in a made-up language."""

import io
import json
import re
from collections.abc import Iterator

import pypdf
import pytest
import time_machine
from django.core.management import call_command
from django.test import Client
from django.utils.translation import gettext, gettext_lazy, ngettext

from tests.support import every_page
from tests.support.cast import Cast, Logged
from tests.support.every_page import EVENING, Site, addresses, build, look, visits
from tests.support.made_up_language import (
    greek,
    latin_in,
    put_into_greek,
    speak,
    translated,
    words_in,
)
from tests.support.pages import signed_in

# Names of file formats, the columns of the files brought in as their first lines have them, and
# the first part of a public id.
SAME_EVERYWHERE = re.compile(
    r"\b[0-9a-f]{8}\b|"
    r"\b(NAME|BIRTH|CLASS|GUARDIAN|DATE|CHILD|DRILL|SURFACE|VALUE|SUPPORT|FAULTS|COACH)\b|\.csv\b"
)
# In what a command asks: the keys of a file of answers, and a child's public id.
OF_ANSWERS = re.compile(r"\b[a-z]+(?= “)|\b[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\b")


@pytest.fixture
def site(cast: Cast, log: Logged, monkeypatch: pytest.MonkeyPatch) -> Iterator[Site]:
    put_into_greek()
    for name in ("ROSTER", "PAPER"):
        header, rows = getattr(every_page, name).split("\n", 1)
        monkeypatch.setattr(every_page, name, f"{header}\n{greek(rows)}")
    for name in (
        "PLACED",
        "PAUSED",
        "TABLET",
        "UNSORTED",
        "UNKNOWN",
        "HOLIDAY",
        "TWICE",
        "CLEARED_BY",
        "HAPPENED",
        "SHOW",
        "WROTE",
    ):
        monkeypatch.setattr(every_page, name, greek(getattr(every_page, name)))
    speak(monkeypatch)
    with time_machine.travel(EVENING, tick=False):
        yield build(cast, log)


def left_in_english(html: str) -> list[str]:
    return latin_in([SAME_EVERYWHERE.sub("", piece) for piece in words_in(html)])


def test_no_page_has_text_that_was_not_offered_for_translation(site):
    found = {}
    for visit in visits(site):
        answer = look(visit)
        if answer.headers["Content-Type"].startswith("text/html"):
            found[visit.name] = left_in_english(answer.content.decode())
    assert len(found) > 10
    assert {name: pieces for name, pieces in found.items() if pieces} == {}


def sentences_for_scripts(value: object) -> Iterator[str]:
    """The texts in the floor page's block of words; its keys are codes."""
    if isinstance(value, str):
        yield re.sub(r"%\(\w+\)s", "", value)
    elif isinstance(value, list):
        for each in value:
            yield from sentences_for_scripts(each)
    elif isinstance(value, dict):
        for each in value.values():
            yield from sentences_for_scripts(each)


def test_the_words_for_the_floor_page_s_scripts_are_all_translated(site):
    page = signed_in(site.cast.omar).get(addresses(site)["floor"]).text
    block = re.search(r'<script id="floor-words"[^>]*>(.*?)</script>', page, re.DOTALL)
    words = list(sentences_for_scripts(json.loads(block[1])))
    assert len(words) > 50
    more = signed_in(site.cast.omar).get(addresses(site)["floor-words"]).json()
    on_demand = list(sentences_for_scripts(more))
    assert len(on_demand) > 50
    assert latin_in([*words, *on_demand]) == []


# What is a code in the pack, the words for it being among those of the page.
CODES = {
    "key", "code", "measure", "stop", "place", "id", "log", "now", "date", "day", "at",
    "rubric", "pose", "pains", "strikes", "faults", "less", "causes", "allowed", "strand", "root",
    "equipment", "surface", "recent", "about", "over_at", "token", "origin",
    "mends", "child", "what", "whom", "handsprings", "picture",
}  # fmt: skip
# What the tablet reads with: codes and numbers throughout.
ARITHMETIC = {"causes", "rules", "gate", "start", "again"}


def texts_in_pack(value: object, path: tuple[str, ...] = ()) -> Iterator[tuple[str, str]]:
    """Every text, with where it stands, but codes; a list under such a key is searched."""
    if isinstance(value, str):
        if path[-1] not in CODES and not ARITHMETIC.intersection(path):
            yield "/".join(path), value
    elif isinstance(value, list):
        for each in value:
            yield from texts_in_pack(each, path)
    elif isinstance(value, dict):
        for name, each in value.items():
            yield from texts_in_pack(each, (*path, name))


def test_the_pack_has_no_sentence_that_was_not_offered_for_translation(site):
    pack = signed_in(site.cast.omar).get(addresses(site)["floor-pack"]).json()
    texts = list(texts_in_pack(pack))
    assert len(texts) > 50
    assert {where: text for where, text in texts if latin_in([text])} == {}


@pytest.mark.parametrize("child", ["mai", "ilse"])
def test_a_letter_has_no_sentence_that_was_not_offered_for_translation(site, child):
    about = getattr(site.cast, child)
    answer = signed_in(site.cast.petra).post(f"/children/{about.uuid}/letter.pdf", follow=True)
    assert answer.status_code == 200
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    text = "\n".join(page.extract_text() for page in pages)
    assert len(text) > 500
    assert latin_in(text.split("\n")) == []


def test_the_calls_answer_errors_in_the_language_asked_for(site):
    for client in (Client(), signed_in(site.cast.omar), signed_in(site.cast.ines)):
        answer = client.post(
            addresses(site)["floor-attempts"], "{", content_type="application/json"
        )
        assert latin_in([answer.json()["sentence"]]) == []


@pytest.mark.parametrize("kind", ["roster", "attempts"])
def test_the_importing_commands_print_nothing_that_was_not_offered(site, tmp_path, kind):
    text = every_page.ROSTER if kind == "roster" else every_page.PAPER
    file = tmp_path / "3.csv"
    file.write_text(text, encoding="utf-8")
    printed = io.StringIO()
    who = {"by": greek("petra")} if kind == "attempts" else {}
    call_command(f"import_{kind}", str(file), stdout=printed, **who)
    lines = [OF_ANSWERS.sub("", line) for line in printed.getvalue().splitlines()]
    assert len(lines) > 3
    assert latin_in([SAME_EVERYWHERE.sub("", line) for line in lines]) == []


# The made-up language itself


def test_the_made_up_language_leaves_placeholders_tags_and_entities(site):
    assert gettext("One %(name)s <b>two</b> {n} &amp; %d") == "Оне %(name)s <b>тшо</b> {n} &amp; %d"
    assert ngettext("turn", "turns", 2) == "турнс"
    assert str(gettext_lazy("Open")) == "Опен"


def test_a_word_written_into_a_page_is_found(monkeypatch):
    speak(monkeypatch)
    html = f"<p title='Left out'>{translated('Shown')} 3 <b>not</b><code>csv</code></p>"
    assert left_in_english(html) == ["Left out", "not"]
