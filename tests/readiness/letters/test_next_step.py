"""What a letter says of the next step: what it asks for, and what is there for the first time."""

import copy
import re

import pytest

from progression.models import LadderVersion
from readiness.letters.letter import letter_facts, write_letter
from readiness.record.ladder_loading import load
from tests.support.cast import NOW, TODAY
from tests.support.letters.files import DAY, called, said, stage_called


def test_what_the_next_step_needs_is_news_when_it_is_there_for_the_first_time(log, cast):
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 100 * DAY, support=0)
    for days in (14, 7):
        log(cast.mai, "hollow-hold", [20.0], day=TODAY - days * DAY, support=0)
    told = f"Mai now does what the next step needs at: {called('hollow-hold')}."
    assert told in said(write_letter(letter_facts(cast.mai, NOW), cast.omar))


def test_what_was_there_before_and_is_there_again_is_no_news(log, cast):
    for days in (240, 233, 14, 7):
        log(cast.mai, "hollow-hold", [20.0], day=TODAY - days * DAY, support=0)
    assert "what the next step needs at" not in said(
        write_letter(letter_facts(cast.mai, NOW), cast.omar)
    )


def test_what_an_open_step_asked_for_is_no_news(climbed):
    """The bridge was not held for long enough before this term; stage 3, which asked for it, is
    open by now."""
    text = said(write_letter(letter_facts(climbed.mai, NOW), climbed.omar))
    (news,) = re.findall(r"now does what the next step needs at: (.+)\.", text)
    assert called("bridge-line") in news.split("; ")
    assert called("bridge-hold") not in news.split("; ")


def test_that_a_step_waits_for_the_director_is_not_told(climbed):
    """Whatever is still asked for there: the letter's words about a signed step are the same."""
    text = said(write_letter(letter_facts(climbed.mai, NOW), climbed.omar))
    (step,) = (line for line in text.splitlines() if f"next is “{stage_called(4)}”" in line)
    assert "It asks for: " in step
    assert "calm, steady turns over several weeks. Then our director looks, and decides." in step
    assert called("back-walkover") not in step.replace(stage_called(4), "")


# --- two drills of which one is enough ------------------------------------------------------

HALF, WHOLE = "wall-handstand-half", "wall-handstand"


@pytest.mark.parametrize("drill", [HALF, WHOLE])
def test_of_two_drills_of_which_one_is_enough_neither_is_said_to_be_the_one(drill, log, cast):
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 100 * DAY, support=0)
    for days in (14, 7):
        log(cast.mai, drill, [10.0], day=TODAY - days * DAY, support=0)
    text = said(write_letter(letter_facts(cast.mai, NOW), cast.omar))
    assert f"needs at: {called(HALF)} or {called(WHOLE)}." in text
    assert "On our record for the first time" not in text


def test_what_the_one_did_before_is_no_news_when_the_other_does_it(log, cast):
    for drill, days in ((HALF, 240), (HALF, 233), (WHOLE, 14), (WHOLE, 7)):
        log(cast.mai, drill, [10.0], day=TODAY - days * DAY, support=0)
    text = said(write_letter(letter_facts(cast.mai, NOW), cast.omar))
    assert "what the next step needs at" not in text


def test_a_step_that_asks_for_one_of_two_drills_names_both(climbed):
    content = copy.deepcopy(LadderVersion.objects.get().content)
    stage = next(each for each in content["stage"] if each["number"] == 5)
    gate = next(each for each in stage["gate"] if each["code"] == "5.shrugs-pushup")
    gate["or_drill"] = "shrugs-knees"
    load(content, now=NOW, from_day=TODAY, reason="tried")
    text = said(write_letter(letter_facts(climbed.mai, NOW), climbed.omar))
    either = f"{called('shrugs-knees')} or {called('shrugs-pushup')}"
    assert f"Beside it comes “{stage_called(5)}”. It asks for: {either}; " in text
