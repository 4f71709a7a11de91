"""Clear gates: the boundaries, and which turns count."""

import pytest

from readiness.engine.gates import (
    ClearGate,
)
from tests.support.engine.gate_readings import (
    ASSISTANT,
    WALKOVER,
    WEDGE,
    in_one_class,
    is_met,
    read,
)
from tests.support.engine.records import HARD, Story, day


def clear(clean=3, days=14):
    return ClearGate("g", WALKOVER, clean, days)


def stopped(number=0, **about):
    return Story().did(number, WALKOVER, "0", faults=("half-hearted",), **about)


def test_clear_is_met_while_there_was_never_a_stop_sign():
    assert is_met(clear(), Story(), 0)
    reading = read(clear(), Story().did(0, WALKOVER, "000"), 0)
    assert (reading.met, reading.stale_on, reading.parts["none_ever"]) == (True, None, 1)


def test_where_it_needs_turns_none_at_all_is_nothing():
    gate = ClearGate("g", WALKOVER, 3, 14, needs_turns=True)
    reading = read(gate, Story(), 0)
    assert (reading.met, reading.progress, reading.value) == (False, 0, 0)
    assert in_one_class(gate, Story(), 0)
    assert is_met(gate, Story().did(0, WALKOVER, "0"), 0)
    assert not is_met(gate, stopped(), 0)


@pytest.mark.parametrize(("number", "met"), [(13, False), (14, True), (400, True)])
def test_clear_takes_so_many_days_since_the_last_stop_sign(number, met):
    assert is_met(clear(), stopped().did(1, WALKOVER, "111"), number) is met


@pytest.mark.parametrize(("outcomes", "met"), [("11", False), ("110", False), ("111", True)])
def test_clear_takes_so_many_clean_turns(outcomes, met):
    assert is_met(clear(), stopped().did(1, WALKOVER, outcomes), 20) is met


def test_clean_turns_of_the_day_of_the_stop_sign_itself_do_not_count():
    story = stopped().did(0, WALKOVER, "1111")
    assert read(clear(), story, 20).value == 0
    assert not is_met(clear(), story, 20)


def test_a_later_stop_sign_starts_again_whoever_saw_it():
    story = stopped().did(1, WALKOVER, "111")
    assert is_met(clear(), story, 15)
    story.did(15, WALKOVER, "0", faults=("half-hearted",), **ASSISTANT)
    reading = read(clear(), story, 15)
    assert (reading.met, reading.progress, reading.days) == (False, 0, (day(15),))


def test_clear_counts_clean_turns_of_any_support_surface_and_author():
    story = stopped().did(1, WALKOVER, "1", support=3, surface=WEDGE)
    story.did(2, WALKOVER, "1", support=0, surface=HARD).did(3, WALKOVER, "1", **ASSISTANT)
    assert is_met(clear(), story, 14)


def test_progress_of_clear_is_the_lesser_share():
    story = stopped().did(1, WALKOVER, "11")
    assert read(clear(), story, 7).progress == pytest.approx(0.5)
    assert read(clear(), story, 14).progress == pytest.approx(2 / 3)
    assert read(clear(), story, 0).progress == 0


def test_a_caught_turn_is_a_stop_sign():
    story = Story().did(0, WALKOVER, "0", caught=True).did(1, WALKOVER, "111")
    assert not is_met(clear(), story, 13)


# hands-wide-out counts only at standing by or unspotted, stalls-over-top from the second time
# on a day, low-back-only never.
@pytest.mark.parametrize(
    ("fault", "support", "times", "stops"),
    [
        ("hands-wide-out", 3, 2, False),
        ("hands-wide-out", 2, 2, False),
        ("hands-wide-out", 1, 1, True),
        ("hands-wide-out", 0, 1, True),
        ("stalls-over-top", 3, 1, False),
        ("stalls-over-top", 3, 2, True),
        ("low-back-only", 0, 3, False),
        ("half-hearted", 3, 1, True),
    ],
)
def test_which_faults_are_stop_signs(fault, support, times, stops):
    story = Story().did(0, WALKOVER, "0" * times, support=support, faults=(fault,))
    assert is_met(clear(), story, 5) is not stops


def test_the_second_time_is_counted_by_day_over_authors_surfaces_and_supports():
    fault = ("stalls-over-top",)
    apart = Story().did(0, WALKOVER, "0", faults=fault).did(1, WALKOVER, "0", faults=fault)
    assert is_met(clear(), apart, 5)
    together = Story().did(0, WALKOVER, "0", faults=fault)
    together.did(0, WALKOVER, "0", 2, HARD, author=2, faults=fault)
    assert not is_met(clear(), together, 5)


def test_the_numbers_that_a_sentence_needs():
    story = stopped().did(3, WALKOVER, "1")
    reading = read(clear(6), story, 3)
    assert (reading.value, reading.need, dict(reading.parts)) == (
        1, 6, {"since": 3, "days_need": 14, "none_ever": 0},
    )  # fmt: skip


def test_one_class_is_enough_once_the_days_are_over_for_eight_clean_turns():
    assert in_one_class(clear(clean=8), stopped(), 14)
    assert not in_one_class(clear(clean=8), stopped(), 13)
    assert not in_one_class(clear(clean=9), stopped(), 14)
    assert in_one_class(clear(clean=9), stopped().did(1, WALKOVER, "1"), 14)
