"""Reach gates: the boundaries, and which turns count."""

from dataclasses import replace

import pytest

from readiness.engine.evidence import Evidence
from readiness.engine.gates import (
    ReachGate,
)
from readiness.engine.tallies import tally_turns
from tests.support.engine.gate_readings import ASSISTANT, in_one_class, is_met, read
from tests.support.engine.records import LADDER, Story, day

HOLD, GRADED = "hollow-hold", "bridge-line"
HALF, FULL = "wall-handstand-half", "wall-handstand"


def hold(at_least=20, days=2, within=90):
    return ReachGate("g", HOLD, at_least, days, within, graded=False)


def line(at_least=2, days=2, within=90):
    return ReachGate("g", GRADED, at_least, days, within, graded=True)


def test_with_no_turns_a_reach_gate_has_no_progress():
    reading = read(hold(), Story(), 0)
    assert (reading.met, reading.progress, reading.value, reading.stale_on) == (False, 0, 0, None)
    assert reading.parts["best"] == 0


def test_the_threshold_itself_is_enough_and_a_little_less_is_not():
    story = Story().did(0, HOLD, [20]).did(1, HOLD, [20])
    assert is_met(hold(), story, 1)
    assert read(hold(), story, 1).days == (day(0), day(1))
    assert not is_met(hold(), Story().did(0, HOLD, [20]).did(1, HOLD, [19.9]), 1)


def test_reach_takes_two_days_and_twice_on_one_day_is_one():
    story = Story().did(0, HOLD, [40, 40])
    assert not is_met(hold(), story, 0)
    assert read(hold(), story, 0).progress == 0
    assert is_met(hold(), story.did(1, HOLD, [20]), 1)


def test_reach_takes_the_best_of_the_day_and_the_second_best_day():
    story = Story().did(0, HOLD, [5, 30, 7]).did(1, HOLD, [12, 10]).did(2, HOLD, [3])
    reading = read(hold(), story, 2)
    assert (reading.value, reading.progress) == (12, pytest.approx(12 / 20))
    assert reading.days == (day(0),)


def test_reach_needs_as_many_days_as_it_says():
    story = Story()
    for number in range(3):
        assert not is_met(hold(days=3), story, number)
        story.did(number, HOLD, [20])
    assert is_met(hold(days=3), story, 2)
    assert is_met(hold(days=1), Story().did(0, HOLD, [20]), 0)


@pytest.mark.parametrize(("number", "met"), [(90, True), (91, False)])
def test_a_reached_day_counts_for_90_days_and_not_91(number, met):
    story = Story().did(0, HOLD, [20]).did(10, HOLD, [20])
    assert is_met(hold(), story, number) is met
    assert read(hold(), story, 10).stale_on == day(91)


def test_holds_and_reps_count_whoever_logged_them():
    assert is_met(hold(), Story().did(0, HOLD, [20], **ASSISTANT).did(1, HOLD, [20]), 1)


def test_a_grade_takes_the_days_second_best_graded_turn():
    story = Story().did(0, GRADED, [3, 1]).did(1, GRADED, [3, 3])
    reading = read(line(), story, 1)
    assert (reading.met, reading.value, reading.progress) == (False, 1, 0.5)
    assert is_met(line(), story.did(0, GRADED, [2]), 1)


def test_one_graded_turn_a_day_is_no_grade():
    story = Story().did(0, GRADED, [3]).did(1, GRADED, [3])
    assert read(line(), story, 1).value == 0


def test_equal_grades_and_two_graders_make_a_second_best():
    story = Story()
    for number in (0, 1):
        story.did(number, GRADED, [2], author=1).did(number, GRADED, [2], author=2)
    assert is_met(line(), story, 1)


def test_an_ungraded_turn_is_no_grade():
    story = Story()
    for number in (0, 1):
        story.did(number, GRADED, [2]).did(number, GRADED, [3], **ASSISTANT)
    assert read(line(), story, 1).value == 0


def test_one_class_is_enough_for_the_last_day():
    story = Story().did(0, HOLD, [20])
    assert in_one_class(hold(), story, 1)
    # Today's own day counts once, however often it is reached.
    assert not in_one_class(hold(), story, 0)
    assert not in_one_class(hold(), Story(), 0)
    assert in_one_class(hold(days=1), Story(), 0)


# --- either of two drills ------------------------------------------------------------


def either(at_least=20):
    return ReachGate("g", FULL, at_least, 2, 90, graded=False, or_drill=HALF)


def test_of_two_drills_the_better_one_counts_on_each_day():
    story = Story().did(0, FULL, [20]).did(0, HALF, [5]).did(1, FULL, [3]).did(1, HALF, [24])
    assert is_met(either(), story, 1)
    assert read(either(), story, 1).days == (day(0), day(1))


def test_both_drills_on_one_day_are_one_day():
    assert not is_met(either(), Story().did(0, FULL, [30]).did(0, HALF, [30]), 0)


def test_a_gate_that_asks_for_the_full_drill_takes_no_other():
    full = ReachGate("g", FULL, 20, 2, 90, graded=False)
    assert not is_met(full, Story().did(0, HALF, [60]).did(1, HALF, [60]), 1)


# --- turns from before a drill was split ---------------------------------------------


def after_the_split(gate, story, number):
    """Under a ladder that has the half-way drill since day 10."""
    split = replace(LADDER, split_on={HALF: day(10)})
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    return gate.read_for_entry(evidence, day(number), split)


@pytest.mark.parametrize(("drill", "value"), [(HALF, 40), (FULL, 0)])
def test_turns_of_before_count_for_the_easier_half_alone(drill, value):
    gate = ReachGate("g", drill, 20, 2, 90, graded=False)
    story = Story().did(8, FULL, [45]).did(9, FULL, [40])
    assert after_the_split(gate, story, 10).value == value


@pytest.mark.parametrize(("drill", "value"), [(HALF, 0), (FULL, 40)])
def test_turns_of_that_day_and_later_count_as_what_they_were_logged(drill, value):
    gate = ReachGate("g", drill, 20, 2, 90, graded=False)
    story = Story().did(10, FULL, [45]).did(11, FULL, [40])
    assert after_the_split(gate, story, 11).value == value


def test_under_the_ladder_of_before_they_stay_what_they_were():
    gate = ReachGate("g", FULL, 20, 2, 90, graded=False)
    assert is_met(gate, Story().did(8, FULL, [45]).did(9, FULL, [40]), 10)


def test_turns_of_before_open_a_gate_that_takes_either():
    story = Story().did(8, FULL, [45]).did(11, HALF, [40])
    assert after_the_split(either(), story, 11).met
