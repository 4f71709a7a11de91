"""What a letter tells as new was not done before under another name."""

import copy

import pytest

from readiness.letters.letter import letter_facts, write_letter
from readiness.letters.rests_on import named
from readiness.letters.sentence import EVER, Kind, RestsOn
from readiness.record.ladder_loading import load
from tests.support.cast import HALF, NOW, TODAY, WHOLE, load_shipped, whole_handstand_alone
from tests.support.letters.files import DAY, called, said
from tests.support.letters.judge import Judge
from tests.support.letters.record import RawRecord
from tests.support.letters.table import Table


@pytest.fixture
def ladder(db, ladder_content):
    before = copy.deepcopy(ladder_content)
    whole_handstand_alone(before)
    return load_shipped(before)


@pytest.fixture
def split(cast, log, ladder_content):
    """Mai comes for a long time; four weeks ago the half-way handstand became a drill of its own,
    and a week ago she did it under that name."""
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 300 * DAY, support=0)
    load(ladder_content, now=NOW - 28 * DAY, from_day=TODAY - 28 * DAY)
    log(cast.mai, HALF, [2.0], day=TODAY - 7 * DAY, support=0)
    return cast


def judged(cast, text):
    record = RawRecord(cast.mai, TODAY)
    judge = Judge(record, Table("en", record.content))
    judge.judge_text("sentences", "since", text)
    return judge.objections


@pytest.mark.parametrize(("days_ago", "new"), [(200, False), (14, True), (None, True)])
def test_the_easier_half_of_a_drill_is_not_new_to_who_did_the_whole(days_ago, new, split, log):
    """Old turns of the whole are turns of the half (tests/engine/gates/test_reach.py); those of
    after the split are of the other half alone."""
    if days_ago:
        log(split.mai, WHOLE, [2.0], day=TODAY - days_ago * DAY, support=0)
    assert (HALF in letter_facts(split.mai, NOW).begun()) is new
    text = said(write_letter(letter_facts(split.mai, NOW), split.omar))
    assert (called(HALF) in text.partition("for the first time: ")[2]) is new
    sentence = f"On our record for the first time: {called(HALF)}."
    assert (judged(split, sentence) == []) is new


def test_what_it_rests_on_is_looked_for_under_the_old_name_too(split):
    facts, on = letter_facts(split.mai, NOW), TODAY - 28 * DAY
    assert named.first_turns(facts, [(HALF,)]) == (
        RestsOn(Kind.TURNS, EVER, on - DAY, WHOLE),
        RestsOn(Kind.TURNS, on, TODAY, HALF),
    )
