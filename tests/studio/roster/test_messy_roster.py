"""180 messy children: in after one round of questions, none doubled, none joined."""

import re

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from studio.models import Child
from studio.people.names import fold
from tests.support.cast import NOW, make_child, make_class
from tests.support.imports import messy_roster
from tests.support.imports.asked import confirm_fields, words_asked

pytestmark = pytest.mark.django_db

WORDS = {"word:class:the little ones": "Early birds", "word:consent:if asked first": "no"}


@pytest.fixture
def petra(cast):
    client = Client()
    client.force_login(cast.petra)
    with time_machine.travel(NOW, tick=False):
        yield client


@pytest.fixture
def here(cast) -> dict[int, Child]:
    """The children of last season, by number."""
    early = make_class("Early birds", cast.hall)
    groups = {"Blue": cast.blue, "Red": cast.red, "Early birds": early}
    found = {}
    for child in messy_roster.children():
        if messy_roster.here_before(child):
            born = (child.year, child.month)
            added = make_child(child.name, groups[child.group], born=born, hands=False)
            added.guardian = child.guardian
            added.save(update_fields=["guardian"])
            found[child.number] = added
    return found


def doubles_asked(page: str) -> dict[int, list[str]]:
    """By line, the answers offered to whose it is."""
    asked: dict[int, list[str]] = {}
    for line, value in re.findall(r'name="answer-(\d+)" value="([^"]+)"', page):
        asked.setdefault(int(line), []).append(value)
    return asked


def test_a_messy_roster_of_180_is_in_after_one_round_of_questions(petra, here, cast):
    others = Child.objects.exclude(pk__in=[child.pk for child in here.values()]).count()
    file = SimpleUploadedFile("list.csv", messy_roster.messy_roster().encode())
    address = petra.post("/roster", {"file": file})["Location"]
    page = petra.get(address).content.decode()
    # One round: all that is asked stands on this page, and is answered in one form.
    words, doubles = words_asked(page), doubles_asked(page)
    assert set(words) == set(WORDS)
    answers = {name: options[WORDS[name]] for name, options in words.items()}
    for line, offered in doubles.items():
        answers[f"answer-{line}"] = true_answer(line, offered, here)
    petra.post(f"{address}/options", {"encoding": "", **answers})
    page = petra.get(address).content.decode()
    assert (words_asked(page), doubles_asked(page)) == ({}, {})
    petra.post(f"{address}/confirm", confirm_fields(page))
    # None doubled, none joined: each invented child has one record, and the same one as before.
    assert Child.objects.count() - others == 180
    records = list(Child.objects.exclude(guardian=""))
    for child in messy_roster.children():
        given, _space, _family = fold(child.name).partition(" ")
        of = (child.guardian, given)
        (record,) = [r for r in records if of == (r.guardian, known_by(r, given))]
        assert record == here.get(child.number, record)
    # Two words, 13 who may be here already, two on two lines, and one id that stands twice.
    assert (len(words), len(doubles)) == (2, 16)


def known_by(record: Child, given: str) -> str:
    return given if given in fold(record.name).split() else ""


def true_answer(line: int, offered: list[str], here: dict[int, Child]) -> str:
    """Who it really is, as somebody answers who knows them all."""
    numbers = [number for number, _text in messy_roster.lines()]
    number = numbers[line - 2]
    if number in here and str(here[number].uuid) in offered:
        return str(here[number].uuid)
    first = f"line:{numbers.index(number) + 2}"
    return first if first in offered else "new"
