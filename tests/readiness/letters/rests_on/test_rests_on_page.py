"""A tap on a sentence of a letter: without scripts, with them, and who may."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from readiness.letters.sentence import Sentence
from studio.models import Child
from tests.support.cast import TODAY, Cast
from tests.support.letters.files import DAY
from tests.support.pages import signed_in, text_of

WORKED = "In the last four weeks Mai worked on this:"
RULE = "Only these shapes, please, and nothing backward, not even with somebody helping."


@pytest.fixture
def evening(cast: Cast, log) -> Cast:
    log(cast.mai, "safe-fall", "101", day=TODAY - DAY, support=0, faults=("reaches-behind",))
    log(cast.ilse, "safe-fall", "00000", day=TODAY - DAY, support=0)
    return cast


def address(child: Child, text: str) -> str:
    return f"/children/{child.uuid}/letter/rests-on/{Sentence(text).key}"


def test_each_sentence_of_the_letter_opens_and_leads_to_what_it_rests_on(evening):
    client = signed_in(evening.omar)
    page = client.get(f"/children/{evening.mai.uuid}/letter").text
    where = address(evening.mai, WORKED)
    assert f"<summary>{WORKED}</summary>" in page
    assert f'<a href="{where}">What it rests on</a>' in page
    assert f'hx-get="{where}"' in page
    # Every link of a sentence leads somewhere.
    links = re.findall(r'<a href="([^"]+/rests-on/[^"]+)"', page)
    assert len(links) > 3
    assert {client.get(link).status_code for link in links} == {200}


def test_the_turns_stand_on_a_page_of_their_own_without_scripts(evening):
    answer = signed_in(evening.omar).get(address(evening.mai, WORKED))
    text = text_of(answer)
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"
    assert WORKED in text
    assert "Tue 3 Mar 2026: 3 turns Omar" in text
    assert text.count("not clean") == 1
    assert "Ilse" not in text
    assert f'href="/children/{evening.mai.uuid}/letter"' in answer.text


def test_htmx_gets_the_same_rows_and_says_that_they_are_there(evening):
    client = signed_in(evening.omar)
    answer = client.get(address(evening.mai, WORKED), headers={"HX-Request": "true"})
    (rows,) = re.findall(r'class="rests-on-rows stack".*?</main>', answer.text, re.S)
    assert "3 turns" in rows
    assert "What the sentence rests on stands below it." in answer.text


def test_a_rule_says_that_it_rests_on_no_turn(evening):
    client = signed_in(evening.omar)
    rule = "Our rule, or a word of advice: it rests on no turn."
    page = client.get(f"/children/{evening.mai.uuid}/letter").text
    after = page.partition(f"<summary>{RULE}</summary>")[2]
    assert rule in after[:400]
    assert address(evening.mai, RULE) not in page
    assert rule in client.get(address(evening.mai, RULE)).text


def test_the_sentences_of_a_class_lead_there_too(evening):
    page = signed_in(evening.omar).get(f"/letters/classes/{evening.blue.uuid}").text
    assert f'<a href="{address(evening.mai, WORKED)}">' in page
    assert f'<a href="{address(evening.ilse, WORKED.replace("Mai", "Ilse"))}">' in page


def test_the_map_leads_to_the_evidence_of_each_part(evening):
    page = signed_in(evening.omar).get(f"/children/{evening.mai.uuid}/letter").text
    assert f'<a href="/children/{evening.mai.uuid}/evidence/4">' in page


def test_in_another_language_the_sentence_is_the_letters_and_the_rest_is_staffs(evening):
    Child.objects.filter(pk=evening.mai.pk).update(letter_language="ar")
    client = signed_in(evening.omar)
    page = client.get(f"/children/{evening.mai.uuid}/letter").text
    (link, *_others) = re.findall(r'<a href="([^"]+/rests-on/[^"]+)"', page)
    answer = client.get(link)
    assert '<p class="lead" lang="ar" dir="rtl">' in answer.text
    assert 'class="rests-on-rows stack" lang="en" dir="ltr"' in answer.text


@pytest.mark.parametrize("text", ["Mai flew.", WORKED.replace("Mai", "Ilse")])
def test_what_the_letter_does_not_say_is_not_answered_for(text, evening):
    answer = signed_in(evening.omar).get(address(evening.mai, text))
    assert answer.status_code == 409
    assert "The letter does not say this today" in answer.text
    assert "3 turns" not in answer.text


@pytest.mark.parametrize(
    ("who", "status"),
    [("omar", 200), ("petra", 200), ("luis", 200), ("ines", 404), ("dora", 404), ("tam", 403)],
)
def test_it_is_for_whoever_reads_the_letter(who, status, evening):
    where = address(evening.mai, WORKED)
    answer = signed_in(getattr(evening, who)).get(where)
    assert answer.status_code == status
    assert (b"Mai" in answer.content) is (status == 200)
    letter = signed_in(getattr(evening, who)).get(f"/children/{evening.mai.uuid}/letter")
    assert letter.status_code == status


def test_it_needs_a_sign_in_and_is_only_looked_at(evening):
    where = address(evening.mai, WORKED)
    assert Client().get(where)["Location"].startswith("/sign-in")
    assert signed_in(evening.omar).post(where).status_code == 405


def test_as_many_questions_for_many_turns_as_for_few(evening, log):
    client, where = signed_in(evening.omar), address(evening.mai, WORKED)
    client.get(where)
    counts = []
    for more in (1, 20):
        for back in range(more):
            log(evening.mai, "safe-fall", "11", day=TODAY - back * DAY, support=0)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(where).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]
