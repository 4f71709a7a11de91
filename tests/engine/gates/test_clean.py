"""Clean gates: the boundaries, and which turns count."""

import dataclasses

import pytest

from readiness.engine import clean_turns_to_open, sureness
from readiness.engine.clean_rate import read_clean
from readiness.engine.evidence import Evidence
from readiness.engine.gates import (
    CleanGate,
    CleanRule,
)
from readiness.engine.levels import Support
from readiness.engine.tallies import tally_turns
from tests.support.engine.gate_readings import (
    ASSISTANT,
    WALKOVER,
    WEDGE,
    in_one_class,
    is_met,
    read,
)
from tests.support.engine.records import HARD, LADDER, MAT, Story, day

PRACTICE_RULE = CleanRule(rate=0.6, certainty=0.9, days=3, clean=6)
UNSPOTTED_RULE = CleanRule(rate=0.8, certainty=0.8, days=4, clean=12)


def practice(support=Support.LIGHT_TOUCH):
    return CleanGate("g", WALKOVER, PRACTICE_RULE, support, False, False)


def unspotted():
    return CleanGate("g", WALKOVER, UNSPOTTED_RULE, Support.STANDING_BY, True, True)


def on_days(outcomes, *numbers, **about):
    story = Story()
    for number in numbers:
        story.did(number, WALKOVER, outcomes, **about)
    return story


def test_with_no_turns_a_clean_gate_knows_one_minus_the_rate_and_has_no_progress():
    reading = read(practice(), Story(), 0)
    assert (reading.met, reading.progress) == (False, 0)
    assert reading.value == pytest.approx(0.4, abs=1e-6)
    assert reading.parts["age"] == -1


def test_three_days_are_needed_however_many_turns():
    assert not is_met(practice(), on_days("1" * 30, 0, 1, support=2), 1)
    assert is_met(practice(), on_days("1" * 30, 0, 1, 2, support=2), 2)


def test_six_clean_turns_are_needed_however_sure():
    sure = CleanRule(rate=0.6, certainty=0.7, days=3, clean=6)
    gate = CleanGate("g", WALKOVER, sure, Support.LIGHT_TOUCH, False, False)
    five = Story().did(0, WALKOVER, "11", support=2).did(1, WALKOVER, "11", support=2)
    five.did(2, WALKOVER, "1", support=2)
    reading = read(gate, five, 2)
    assert reading.value >= 0.7
    assert (reading.met, reading.progress) == (False, pytest.approx(5 / 6))
    assert is_met(gate, five.did(2, WALKOVER, "1", support=2), 2)


def test_days_without_a_clean_turn_are_no_days():
    story = on_days("1" * 10, 0, 1, support=2).did(2, WALKOVER, "0", support=2)
    reading = read(practice(), story, 2)
    assert reading.parts["days"] == 2
    assert not reading.met


@pytest.mark.parametrize(("number", "met"), [(2 + 28, True), (2 + 29, False)])
def test_the_newest_clean_turn_counts_28_days_and_not_29(number, met):
    story = on_days("1" * 10, 0, 1, 2, support=2)
    assert is_met(practice(), story, number) is met
    for read_on in (2, 15, 29, 30):
        assert read(practice(), story, read_on).stale_on == day(31)


@pytest.mark.parametrize(("number", "days"), [(84, 3), (85, 2)])
def test_clean_days_count_for_84_days_and_not_85(number, days):
    story = on_days("1" * 10, 0, 80, 82, support=2)
    assert read(practice(), story, number).parts["days"] == days
    assert is_met(practice(), story, number) is (days == 3)


def test_a_reading_does_not_see_the_days_after_it():
    story = on_days("1" * 10, 0, 1, 2, support=2)
    assert not is_met(practice(), story, 1)
    assert read(practice(), story, -1).value == pytest.approx(0.4, abs=1e-6)


@pytest.mark.parametrize(("support", "met"), [(0, True), (1, True), (2, True), (3, False)])
def test_a_turn_counts_for_gates_that_ask_for_its_support_or_more(support, met):
    assert is_met(practice(), on_days("1" * 10, 0, 1, 2, support=support), 2) is met


@pytest.mark.parametrize(("surface", "met"), [(WEDGE, False), (MAT, True), (HARD, True)])
def test_a_turn_counts_for_its_own_surface_and_easier_ones(surface, met):
    story = on_days("1" * 10, 0, 1, 2, 3, support=1, surface=surface)
    assert is_met(unspotted(), story, 3) is met


def test_another_order_of_surfaces_counts_the_same_turns_again():
    """One record, read under two ladders."""
    evidence = Evidence(
        tally_turns(on_days("1" * 10, 0, 1, 2, 3, support=1, surface=WEDGE).turns, {})
    )
    turned = dataclasses.replace(LADDER, surfaces=tuple(reversed(LADDER.surfaces)))
    for ladder, met in ((LADDER, False), (turned, True), (LADDER, False)):
        assert unspotted().read(evidence, day(3), ladder, MAT).met is met


def test_turns_that_are_added_later_are_read():
    evidence = Evidence(tally_turns(on_days("1" * 10, 0, 1, support=2).turns, {}))
    assert not practice().read(evidence, day(2), LADDER).met
    evidence.add(tally_turns(on_days("1" * 10, 2, support=2).turns, {}))
    assert practice().read(evidence, day(2), LADDER).met


def test_a_gate_without_a_signed_surface_counts_every_surface():
    story = on_days("1" * 10, 0, 1, 2, support=2, surface=WEDGE)
    assert is_met(practice(), story, 2, surface=HARD)


def test_a_graded_gate_counts_no_ungraded_turn_clean_or_not():
    ungraded = on_days("1" * 10, 0, 1, 2, 3, support=1, **ASSISTANT)
    assert not is_met(unspotted(), ungraded, 3)
    graded = on_days("1" * 10, 0, 1, 2, 3, support=1).did(3, WALKOVER, "0" * 9, 1, **ASSISTANT)
    assert is_met(unspotted(), graded, 3)
    assert is_met(practice(), ungraded, 3)


def test_turns_of_one_day_are_added_over_authors_supports_and_surfaces():
    together = on_days("1" * 6, 0, 1, 2, support=2)
    apart = Story()
    for number in (0, 1, 2):
        apart.did(number, WALKOVER, "11", support=2, author=1)
        apart.did(number, WALKOVER, "11", support=1, author=2, surface=HARD)
        apart.did(number, WALKOVER, "11", support=0, author=3, surface=WEDGE)
    assert read(practice(), apart, 2).value == read(practice(), together, 2).value


def test_sureness_is_compared_after_rounding_to_six_decimals():
    story = on_days("111", 0, 7, 14, support=2)
    value = read(practice(), story, 14).value
    assert value == round(value, 6)
    for certainty, met in ((value, True), (value + 1e-6, False)):
        rule = CleanRule(rate=0.6, certainty=certainty, days=3, clean=6)
        gate = CleanGate("g", WALKOVER, rule, Support.LIGHT_TOUCH, False, False)
        assert is_met(gate, story, 14) is met


def test_progress_of_a_clean_gate_is_its_weakest_part():
    # One of three days, ten of six clean turns, and sureness on its way.
    assert read(practice(), on_days("1" * 10, 0, support=2), 0).progress == pytest.approx(1 / 3)
    # Enough days and turns: how far sureness has come from .4 to .9.
    story = on_days("1110", 0, 7, 14, support=2)
    reading = read(practice(), story, 14)
    assert 0 < reading.progress < 0.99
    assert reading.progress == pytest.approx((reading.value - 0.4) / 0.5)
    # Worse than knowing nothing is no progress, not less than none.
    assert read(practice(), on_days("0000", 0, 7, 14, support=2), 14).progress == 0


def test_a_stale_gate_that_was_sure_enough_shows_99():
    assert read(practice(), on_days("1" * 10, 0, 1, 2, support=2), 31).progress == 0.99


def test_a_ladder_that_says_nothing_else_fades_by_8_own_days_and_84_of_the_calendar():
    record = [(day(7 * week), 3, 2) for week in range(9)]
    value = read_clean(record, day(70), PRACTICE_RULE).sureness
    assert value == round(sureness(record, day(70), 0.6, 8, 84, 0.1), 6)


@pytest.mark.parametrize("rate", [0, 1, -0.1, 1.1])
def test_a_rate_that_is_no_share_is_refused(rate):
    with pytest.raises(ValueError, match="rate must lie between 0 and 1"):
        sureness([], day(0), rate)


@pytest.mark.parametrize(("days", "promise"), [(12, (12, 12)), (13, None)])
def test_the_promise_looks_at_twelve_days_and_not_thirteen(days, promise):
    rule = CleanRule(rate=0.6, certainty=0.6, days=days, clean=days)
    coming = [day(number) for number in range(20)]
    assert clean_turns_to_open([], day(0), rule, coming) == promise


def test_the_promise_knows_nothing_of_turns_after_today():
    later = [(day(3), 9, 0), (day(4), 9, 9)]
    coming = [day(number) for number in range(2, 9)]
    nothing = clean_turns_to_open([], day(2), PRACTICE_RULE, coming)
    assert clean_turns_to_open(later, day(2), PRACTICE_RULE, coming) == nothing


def test_one_class_is_enough_for_the_last_day_and_not_for_two():
    assert in_one_class(practice(), on_days("1" * 10, 0, 1, support=2), 2)
    assert not in_one_class(practice(), on_days("1" * 10, 0, support=2), 2)


@pytest.mark.parametrize(("clean", "enough"), [(8, True), (9, False)])
def test_a_class_has_room_for_eight_clean_turns_at_a_drill(clean, enough):
    rule = CleanRule(rate=0.5, certainty=0.7, days=1, clean=clean)
    gate = CleanGate("g", WALKOVER, rule, Support.LIGHT_TOUCH, False, False)
    assert in_one_class(gate, Story(), 0) is enough


def test_it_says_on_how_many_turns_in_its_time_it_is_so_sure():
    story = Story().did(0, WALKOVER, "11", support=2).did(30, WALKOVER, "1100", support=2)
    story.did(90, WALKOVER, "10", support=2)
    assert read(practice(), story, 90).parts["turns"] == 6
