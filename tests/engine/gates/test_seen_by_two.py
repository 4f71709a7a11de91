"""Seen by two: the boundaries, and which turns count."""

import pytest

from readiness.engine.gates import (
    SeenByTwoGate,
)
from readiness.engine.levels import Support
from tests.support.engine.gate_readings import WALKOVER, WEDGE, in_one_class, is_met, read
from tests.support.engine.records import HARD, Story, day


def by_two(support=Support.STANDING_BY):
    return SeenByTwoGate("g", WALKOVER, support, 84, True)


def seen(*sights, **about):
    """Each sight is (day, grader, clean turns)."""
    story = Story()
    for number, author, clean in sights:
        story.did(number, WALKOVER, "1" * clean, **{"support": 1, "author": author, **about})
    return story


@pytest.mark.parametrize(
    ("sights", "met", "progress"),
    [
        ([], False, 0),
        ([(0, 1, 9), (1, 1, 9)], False, 0.5),  # one grader, however often
        ([(0, 1, 1), (1, 2, 1)], True, 1),  # two graders on two days
        ([(0, 1, 1), (0, 2, 1), (1, 1, 1)], True, 1),  # two days together
        ([(0, 1, 2), (0, 2, 3)], False, 0.99),  # one class, less than three by one of them
        ([(0, 1, 3), (0, 2, 2)], False, 0.99),
        ([(0, 1, 3), (0, 2, 3)], True, 1),  # three each in one class
        ([(0, 1, 1), (0, 2, 1), (0, 3, 9)], False, 0.99),  # three graders, one class
        ([(0, 1, 2), (0, 2, 3), (0, 3, 3)], True, 1),  # any two of them will do
    ],
)
def test_two_graders_on_two_days_or_three_each_in_one_class(sights, met, progress):
    assert is_met(by_two(), seen(*sights), 2) is met
    assert read(by_two(), seen(*sights), 2).progress == progress


@pytest.mark.parametrize(("number", "met"), [(84, True), (85, False)])
def test_a_sight_counts_for_84_days_and_not_85(number, met):
    story = seen((0, 1, 1), (10, 2, 1))
    assert is_met(by_two(), story, number) is met
    assert read(by_two(), story, 10).stale_on == day(85)


@pytest.mark.parametrize("about", [{"support": 2}, {"surface": WEDGE}, {"graded": False}], ids=str)
def test_seen_by_two_counts_graded_turns_at_its_support_and_surface(about):
    assert not is_met(by_two(), seen((0, 1, 3), (0, 2, 3), (1, 2, 3), **about), 2)


@pytest.mark.parametrize("about", [{"support": 0}, {"surface": HARD}], ids=str)
def test_seen_by_two_counts_less_support_and_harder_surfaces(about):
    assert is_met(by_two(), seen((0, 1, 1), (1, 2, 1), **about), 2)


def test_a_turn_that_was_not_clean_is_no_sight():
    story = seen((0, 1, 1)).did(1, WALKOVER, "000", support=1, author=2)
    assert read(by_two(), story, 2).value == 1


def test_three_each_may_be_on_different_surfaces_and_supports():
    story = seen((0, 1, 3), (0, 2, 2)).did(0, WALKOVER, "1", support=0, surface=HARD, author=2)
    assert is_met(by_two(), story, 0)


def test_the_numbers_that_a_sentence_needs():
    reading = read(by_two(Support.HANDS_ON), Story().did(3, WALKOVER, "1"), 3)
    assert (reading.value, reading.need) == (1, 2)


def test_one_class_is_enough_for_the_second_grader():
    assert in_one_class(by_two(), seen((0, 1, 1)), 7)
    assert not in_one_class(by_two(), Story(), 7)
