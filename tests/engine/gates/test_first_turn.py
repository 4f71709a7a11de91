"""The first turn of the day: the boundaries, and which turns count."""

import pytest

from readiness.engine.gates import (
    FirstTurnGate,
)
from readiness.engine.levels import Support
from tests.support.engine.gate_readings import (
    ASSISTANT,
    WALKOVER,
    WEDGE,
    in_one_class,
    is_met,
    read,
)
from tests.support.engine.records import HARD, Story, day


def first_turn():
    return FirstTurnGate("g", WALKOVER, Support.STANDING_BY, 28, True)


def test_with_no_turns_there_is_no_first_turn():
    reading = read(first_turn(), Story(), 0)
    assert (reading.met, reading.progress, reading.days) == (False, 0, ())


@pytest.mark.parametrize(
    ("outcomes", "met"), [("1", True), ("100", True), ("0", False), ("01111", False)]
)
def test_only_the_first_turn_of_the_day_matters(outcomes, met):
    assert is_met(first_turn(), Story().did(0, WALKOVER, outcomes, support=1), 0) is met


def test_only_the_latest_day_matters():
    story = Story().did(0, WALKOVER, "1", support=1).did(1, WALKOVER, "0", support=1)
    assert not is_met(first_turn(), story, 1)
    assert is_met(first_turn(), story.did(2, WALKOVER, "1", support=1), 2)
    assert read(first_turn(), story, 2).days == (day(2),)


@pytest.mark.parametrize(("number", "met"), [(28, True), (29, False)])
def test_the_latest_day_may_be_28_days_ago_and_not_29(number, met):
    story = Story().did(0, WALKOVER, "1", support=1)
    assert is_met(first_turn(), story, number) is met
    assert read(first_turn(), story, 0).stale_on == day(29)


@pytest.mark.parametrize(
    ("about", "met"),
    [
        ({"support": 2}, False),
        ({"support": 0}, True),
        ({"graded": False}, False),
        ({"surface": WEDGE}, False),
        ({"surface": HARD}, True),
    ],
    ids=str,
)
def test_the_first_turn_must_itself_count(about, met):
    story = Story().did(0, WALKOVER, "1", **{"support": 1, **about})
    # A second turn that would count changes nothing.
    story.did(0, WALKOVER, "1", support=1)
    assert is_met(first_turn(), story, 0) is met


def test_first_is_by_time_whoever_logged_it_and_whenever_it_arrived():
    story = Story().did(0, WALKOVER, "1", support=1, author=2)
    story.did(0, WALKOVER, "0", support=3, surface=WEDGE, **ASSISTANT)
    assert is_met(first_turn(), story, 0)
    assert is_met(first_turn(), reversed_story(story), 0)
    late, early = story.turns
    story.turns = [swap_times(late, early), swap_times(early, late)]
    assert not is_met(first_turn(), story, 0)
    assert not is_met(first_turn(), reversed_story(story), 0)


@pytest.mark.parametrize(("clean_id", "other_id"), [("a", "b"), ("b", "a")])
def test_turns_of_one_instant_go_by_their_id(clean_id, other_id):
    story = Story().did(0, WALKOVER, "1", support=1).did(0, WALKOVER, "0", support=1, author=2)
    clean, other = story.turns
    story.turns = [
        changed(clean, id=clean_id),
        changed(other, id=other_id, at=clean.at),
    ]
    assert is_met(first_turn(), story, 0) is (clean_id < other_id)
    assert is_met(first_turn(), reversed_story(story), 0) is (clean_id < other_id)


def changed(turn, **about):
    return turn._replace(**about)


def swap_times(turn, other):
    return changed(turn, at=other.at)


def reversed_story(story):
    other = Story()
    other.turns = list(reversed(story.turns))
    return other


def test_the_numbers_that_a_sentence_needs():
    reading = read(first_turn(), Story().did(3, WALKOVER, "1", support=1), 3)
    assert (reading.value, reading.need) == (1, 1)


def test_one_class_is_enough_unless_today_has_had_its_first_turn():
    story = Story().did(0, WALKOVER, "0", support=1)
    assert in_one_class(first_turn(), story, 1)
    assert not in_one_class(first_turn(), story, 0)
