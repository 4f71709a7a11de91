"""Every sentence of every letter of an invented studio is judged by the raw record."""

import datetime
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import time_machine
from django.db import transaction
from django.test import Client

from readiness.demo.build import build
from readiness.letters.letter import Letter, letter_facts, write_letter
from studio.models import Child, Staff
from studio.people.today import local_today
from tests.support import letters as support
from tests.support.letters.judge import Judge
from tests.support.letters.record import RawRecord
from tests.support.letters.table import LANGUAGES, Table
from tests.support.letters.truth import LATER, read_all

SUPPORT = Path(support.__file__).parent
# A Wednesday, half past five in Lisbon and half past six in Madrid.
NOW = datetime.datetime(2026, 3, 4, 17, 20, tzinfo=datetime.UTC)


@pytest.fixture(scope="module")
def _studio(django_db_setup, django_db_blocker) -> Iterator[None]:
    """A small demo, made once for this file and taken back at its end."""
    with django_db_blocker.unblock(), transaction.atomic():
        build(NOW, 2, lambda sentence: None, weeks=44, children=12)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def letters(_studio, db) -> list[tuple[Child, Letter]]:
    director = Staff.objects.get(username="amadea")
    children = Child.objects.order_by("pk")
    return [(child, write_letter(letter_facts(child, NOW), director)) for child in children]


def objections(child: Child, letter: Letter) -> list[str]:
    record = RawRecord(child, local_today([child], NOW)[child.pk])
    judge = Judge(record, Table("en", record.content))
    judge.judge(letter)
    assert len(judge.claims) > 5
    return judge.objections


def test_no_sentence_says_what_the_record_does_not_carry(letters):
    assert {child.name: objections(child, letter) for child, letter in letters} == {
        child.name: [] for child, _ in letters
    }


@pytest.mark.usefixtures("_studio")
@pytest.mark.django_db
def test_in_every_language_all_is_true_and_nothing_false_passes():
    """The letters of one class, today and after five weeks of nothing. ``python -m
    tests.letters_truth --lies`` reads those of all classes of the whole demo."""
    told = read_all(NOW, "Wrens", lies=True, later=LATER[:2], each=1)
    assert told.wrong == [], "\n".join(told.wrong)
    assert told.missed == []
    assert min(told.claims[language] for language in LANGUAGES) > 50
    assert {"day", "month", "number", "name", "help", "new", "drill", "step"} <= told.altered.keys()


def test_the_judge_has_nothing_of_what_writes_the_letters():
    """Neither its functions nor the catalogues: a sentence that changes there is unknown here."""
    for path in (SUPPORT / "table.py", SUPPORT / "record.py", SUPPORT / "lies.py"):
        source = path.read_text(encoding="utf-8")
        assert not re.search(r"readiness\.letters|translation|gettext|babel|locale", source), path


def test_the_letters_are_of_many_kinds(letters):
    told = "\n".join(text for _, letter in letters for text in letter.texts())
    for kind in ("has been paused", " came back", "watched", "agreed that", "New on the ladder"):
        assert kind in told


def a_day_later(match: re.Match[str]) -> str:
    day = datetime.datetime.strptime(match[0], "%d %B %Y") + datetime.timedelta(days=1)  # noqa: DTZ007
    return f"{day.day} {day:%B %Y}"


DATE = r"\d{1,2} \w+ 20\d\d"
# What is put in the place of what a true letter says: (pattern, something false).
FALSE = {
    "the day of a pause": (rf"{DATE}(?=\. A pause)", a_day_later),
    "the evening of an opening": (rf"(?<=\(){DATE}(?=\)\.)", a_day_later),
    "the day of a signature": (rf"(?<=^On ){DATE}(?=.* agreed that)", a_day_later),
    "the director": (r"Amadea Thornquist|Bastião Quintelo", "Rui Falcateira"),
    "the floor": (r"(?<=kind of floor: )[^,]+", "Bare stage floor"),
    "the help": (r"a coach’s hands carry part of the weight", "a coach is near and watches"),
    "the next stage": (r"(?<=What comes next is “)[^”]+", "Somersault"),
    "how often": (r"In the last four weeks", "In the last five weeks"),
    "a promise": (r"We name no day\.", "It will be soon."),
    "a comparison": (r"We name no day\.", "Others are further."),
    "the evening of a stop": (rf"{DATE}(?= (?:a coach’s hands|more help) came)", a_day_later),
}


def told_wrong(letter: Letter, pattern: str, false: str) -> Letter:
    return replace(
        letter,
        sections=tuple(
            replace(
                each,
                sentences=tuple(
                    replace(told, text=re.sub(pattern, false, told.text)) for told in each.sentences
                ),
            )
            for each in letter.sections
        ),
    )


@pytest.mark.parametrize(("pattern", "false"), FALSE.values(), ids=FALSE.keys())
def test_something_false_is_noticed(pattern, false, letters):
    wrong = [(child, letter, told_wrong(letter, pattern, false)) for child, letter in letters]
    changed = [(child, false_one) for child, letter, false_one in wrong if false_one != letter]
    assert changed
    assert all(objections(child, letter) for child, letter in changed[:3])


def test_a_part_that_does_not_belong_is_noticed(letters):
    paused = next((child, letter) for child, letter in letters if "A pause" in letter.title)
    other = next(letter for child, letter in letters if "How it goes on" in headings(letter))
    child, letter = paused
    assert objections(child, replace(letter, sections=(*letter.sections, other.sections[-2])))


def _growth_told_wrong(letter: Letter) -> Letter:
    grown = [replace(each, said=f"{each.said[:-6]}9 now.") for each in letter.beside.grown]
    return replace(letter, beside=replace(letter.beside, grown=tuple(grown)))


def _answer_told_wrong(letter: Letter) -> Letter:
    slip = letter.beside.slip
    if slip is None:
        return letter
    others = {"now: yes": "now: no", "now: no.": "now: yes.", "no answer": "an answer"}
    said = next((slip.on_record.replace(*o) for o in others.items() if o[0] in slip.on_record), "")
    return replace(letter, beside=replace(letter.beside, slip=replace(slip, on_record=said)))


def _map_told_wrong(letter: Letter) -> Letter:
    words = {"works here": "later", "later": "works here"}
    stops = [replace(each, word=words.get(each.word, each.word)) for each in letter.beside.stops]
    return replace(letter, beside=replace(letter.beside, stops=tuple(stops)))


@pytest.mark.parametrize("lie", [_growth_told_wrong, _answer_told_wrong, _map_told_wrong])
def test_something_false_beside_the_sentences_is_noticed(lie, letters):
    changed = [(child, lie(letter)) for child, letter in letters if lie(letter) != letter]
    assert changed
    assert all(objections(child, letter) for child, letter in changed[:3])


WATCHES = "Our director has begun to watch"


def test_only_a_director_tells_that_a_director_watches_and_only_of_who_waits(letters):
    waiting = [child for child, _ in letters if letter_facts(child, NOW).for_review()]
    others = [child for child, _ in letters if child not in waiting]
    assert waiting
    assert others
    for username, child, may in (
        ("amadea", waiting[0], True),
        ("amadea", others[0], False),
        (coach_of(waiting[0]), waiting[0], False),
    ):
        client = Client()
        client.force_login(Staff.objects.get(username=username))
        with time_machine.travel(NOW, tick=False):
            address = f"/children/{child.uuid}/letter"
            plain = client.get(address).content.decode()
            ticked = client.post(address, {"own": "", "review": "on"}).content.decode()
        assert ('name="review"' in plain) is may
        assert WATCHES not in plain
        assert (WATCHES in ticked) is may


def test_that_a_step_waits_for_a_director_cannot_be_read_off_a_letter(letters):
    """It asks for time in the same words, whether there has been enough of it or not."""
    waiting = [letter for child, letter in letters if letter_facts(child, NOW).for_review()]
    told = [" ".join(letter.texts()) for letter in waiting if "How it goes on" in headings(letter)]
    assert told
    for text in told:
        assert "calm, steady turns over several weeks. Then our director looks, and" in text


def test_what_a_director_ticked_is_judged_as_well(letters):
    (child, *_) = [child for child, _ in letters if letter_facts(child, NOW).for_review()]
    director = Staff.objects.get(username="amadea")
    letter = write_letter(letter_facts(child, NOW), director, review=True)
    assert WATCHES in " ".join(letter.texts())
    assert objections(child, letter) == []


def coach_of(child: Child) -> str:
    coaches = Staff.objects.filter(classes__children=child, role=Staff.Role.COACH)
    return coaches.order_by("pk")[0].username


def headings(letter: Letter) -> list[str]:
    return [section.heading for section in letter.sections]
