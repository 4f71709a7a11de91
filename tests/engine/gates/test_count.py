"""Count gates: the boundaries, and which turns count."""

import pytest

from readiness.engine.gates import (
    CountGate,
)
from tests.support.engine.gate_readings import ASSISTANT, in_one_class, is_met, read
from tests.support.engine.records import Story, day


def count(clean=3, within=365):
    return CountGate("g", "safe-fall", clean, within)


def test_count_takes_so_many_clean_turns_on_any_days():
    story = Story().did(0, "safe-fall", "1010")
    reading = read(count(), story, 0)
    assert (reading.met, reading.value, reading.progress) == (False, 2, pytest.approx(2 / 3))
    assert is_met(count(), story.did(200, "safe-fall", "1"), 200)
    assert is_met(count(), Story().did(0, "safe-fall", "111"), 0)


@pytest.mark.parametrize(("number", "met"), [(365, True), (366, False)])
def test_a_counted_turn_counts_for_365_days_and_not_366(number, met):
    story = Story().did(0, "safe-fall", "1").did(30, "safe-fall", "11")
    assert is_met(count(), story, number) is met
    assert read(count(), story, 30).stale_on == day(366)


def test_count_counts_ungraded_turns():
    assert is_met(count(), Story().did(0, "safe-fall", "111", **ASSISTANT), 0)


def test_one_class_is_enough_for_eight_more():
    assert in_one_class(count(8), Story(), 0)
    assert not in_one_class(count(9), Story(), 0)
    assert in_one_class(count(9), Story().did(0, "safe-fall", "1"), 0)
