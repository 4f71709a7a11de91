"""Each sentence of a letter names what it rests on, or that it rests on nothing recorded."""

import pytest

from readiness.engine.levels import Support
from readiness.engine.replay.state import Cause
from readiness.letters.facts import LATELY, TERM, ReCheck
from readiness.letters.letter import letter_facts, sentences_about
from readiness.letters.rests_on import named
from readiness.letters.sections import sections
from readiness.letters.sentence import EVER, Kind, RestsOn
from readiness.record.standings import Reading, read
from tests.support.cast import NOW, TODAY, Cast
from tests.support.letters import kinds
from tests.support.letters.files import DAY

TURNS, DECISIONS, GATES, PLACINGS = Kind.TURNS, Kind.DECISIONS, Kind.GATES, Kind.PLACINGS
PAUSES, PAIN, CONSENT = Kind.PAUSES, Kind.PAIN, Kind.CONSENT
# How each sentence begins, and the kinds of rows that it rests on.
RESTS_ON = {
    "Tumbling has been paused": {PAUSES, PAIN},
    "It ends when you": set(),
    "We have no yes to a coach’s hands": {CONSENT},
    "On 25 February 2026 we wrote down that something hurt": {PAIN},
    "We begin again when you": set(),
    "Mai is back since": {TURNS},
    "On 25 February 2026 a coach’s hands came back": {TURNS, DECISIONS},
    "Since 25 February 2026 we go over this once more": {TURNS, DECISIONS},
    "On 25 February 2026 more help came": {TURNS, DECISIONS},
    "More than 4 weeks went by without a turn at this": {TURNS, DECISIONS},
    "After more than 4 weeks": set(),
    "Our rule is the same for everybody": set(),
    "What has opened for Mai": set(),
    "On 25 February 2026 Petra watched Mai": {PLACINGS},
    "At first our hands are there": set(),
    "On 25 February 2026 Petra agreed": {TURNS, DECISIONS},
    "It is meant for our class": set(),
    "Our director has begun to watch": {TURNS, DECISIONS, GATES},
    "The answer may well be": set(),
    "Mai is at the beginning": {GATES},
    "In the last four weeks Mai": {TURNS, DECISIONS},
    "• ": {TURNS, DECISIONS},
    "New on the ladder": {TURNS},
    "Mai now does what the next step needs": {TURNS},
    "On our record for the first time": {TURNS},
    "There are turns of Mai on our record from only": {TURNS},
    "There are no turns of Mai": {TURNS},
    "These weeks went into practice": {TURNS},
    "Steps grow from weeks": {TURNS},
    "Nobody sees the floor": set(),
    "What comes now is keeping it steady": set(),
    "What comes next is": {GATES, DECISIONS},
    "Beside it comes": {GATES, DECISIONS},
    "Some come quickly": set(),
    "Rest first": {PAIN},
    "A few minutes on a mat": set(),
    "Only these shapes": set(),
}


@pytest.fixture
def reading(climbed: Cast) -> Reading:
    return read(climbed.mai, TODAY)


def begins(text: str) -> list[str]:
    return [start for start in RESTS_ON if text.startswith(start)]


@pytest.mark.django_db
@pytest.mark.parametrize("kind", kinds.KINDS)
def test_each_sentence_names_what_it_rests_on(kind, reading):
    facts, met = kind(reading), 0
    # That the last part is open is given by hand, and so is by nothing on record.
    given = "Mai has come to the last part of our ladder"
    for sentence in (each for part in sections(facts, review=True) for each in part.sentences):
        if sentence.text.startswith(given):
            continue
        (start,) = begins(sentence.text)
        assert {each.kind for each in sentence.rests_on} == RESTS_ON[start], sentence.text
        assert all(each.first <= each.last <= TODAY for each in sentence.rests_on)
        met += 1
    assert met


@pytest.mark.django_db
def test_no_sentence_of_the_list_is_left_out(reading):
    every = [
        sentence.text
        for kind in kinds.KINDS
        for part in sections(kind(reading), review=True)
        for sentence in part.sentences
    ]
    unmet = [start for start in RESTS_ON if not any(text.startswith(start) for text in every)]
    # Of a letter that no kind is of: no turns in these weeks.
    assert unmet == ["There are no turns of Mai"]


def test_a_bullet_rests_on_the_turns_at_its_drill_of_four_weeks(climbed):
    (sentence,) = (
        each
        for each in sentences_about(letter_facts(climbed.mai, NOW), [])
        if each.text.startswith("• Back walkover")
    )
    turns = RestsOn(TURNS, TODAY - LATELY, TODAY, "back-walkover")
    assert sentence.rests_on == (turns, RestsOn(DECISIONS, EVER, TODAY, "back-walkover"))


def test_a_new_stage_rests_on_the_turns_at_its_gates_before_that_evening(climbed):
    facts = letter_facts(climbed.mai, NOW)
    since = facts.now.read.state.opened["3"].since
    found = named.opened(facts, ["3"])
    gates = facts.now.read.stage("3").gates
    assert {each.about for each in found} >= {gate.gate.drill for gate in gates}
    assert {(each.kind, each.first, each.last) for each in found} == {
        (TURNS, since - DAY - LATELY, since - DAY)
    }


def test_what_opened_by_itself_rests_on_nothing(climbed):
    assert named.opened(letter_facts(climbed.mai, NOW), ["1"]) == ()


def test_the_stop_sign_rests_on_its_evening_and_all_since(climbed):
    cause = Cause("stop-sign", TODAY - 7 * DAY, ("3",), Support.HANDS_ON)
    check = ReCheck("back-walkover", cause, Support.STANDING_BY, Support.HANDS_ON)
    turns, steps = named.watched_again(letter_facts(climbed.mai, NOW), check)
    assert turns == RestsOn(TURNS, TODAY - 7 * DAY, TODAY, "back-walkover")
    assert steps == RestsOn(DECISIONS, TODAY - 7 * DAY, TODAY, "back-walkover")


def test_a_long_absence_rests_on_the_last_turn_before_it(log, cast):
    last = TODAY - 40 * DAY
    log(cast.mai, "back-bend-raised", "1", day=last)
    log(cast.mai, "back-bend-raised", "1", day=TODAY)
    cause = Cause("away", last + 29 * DAY, ("2",), Support.HANDS_ON)
    check = ReCheck("back-bend-raised", cause, Support.STANDING_BY, Support.HANDS_ON)
    facts = letter_facts(cast.mai, NOW)
    assert named.watched_again(facts, check)[0].first == last
    assert named.came_back(facts, TODAY) == (RestsOn(TURNS, last, TODAY),)


def test_a_hold_that_grew_rests_on_the_days_of_both_ends(climbed):
    grown = [
        each
        for each in sentences_about(letter_facts(climbed.mai, NOW), [])
        if " seconds in " in each.text
    ]
    assert grown
    for sentence in grown:
        days = [(each.first, each.last) for each in sentence.rests_on]
        assert len(days) == 4
        assert all(first == last for first, last in days)
        assert all(first > TODAY - TERM for first, _last in days)


def test_the_answer_on_the_slip_rests_on_the_familys_answers(cast):
    *_others, answer = sentences_about(letter_facts(cast.mai, NOW), [])
    assert answer.text.startswith("On our record now: yes.")
    assert answer.rests_on == (RestsOn(CONSENT, EVER, TODAY),)


def test_a_corrected_letter_rests_on_the_one_that_it_replaces(cast):
    first, *_others = sentences_about(letter_facts(cast.mai, NOW), [TODAY - DAY])
    assert first.text == "This letter replaces the one of 3 March 2026."
    assert first.rests_on == (RestsOn(Kind.LETTERS, TODAY - DAY, TODAY - DAY),)
