"""Each kind of gate: its boundaries, and which turns it counts."""

import dataclasses

import pytest

from readiness.engine import clean_turns_to_open, sureness
from readiness.engine.clean_rate import read_clean
from readiness.engine.evidence import Evidence
from readiness.engine.gates import read_gate
from readiness.engine.ladder import (
    CleanGate,
    CleanRule,
    ClearGate,
    CountGate,
    FirstTurnGate,
    ReachGate,
    SeenByTwoGate,
    Support,
)
from readiness.engine.tallies import tally_turns
from tests.support.engine.records import HARD, LADDER, MAT, Story, day

WALKOVER, HOLD, GRADED = "back-walkover", "hollow-hold", "bridge-line"
WEDGE = "wedge"
ASSISTANT = {"author": 9, "graded": False}


def read(gate, story, number, surface=MAT):
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    return read_gate(gate, evidence, day(number), LADDER, surface)


def is_met(gate, story, number, surface=MAT):
    reading = read(gate, story, number, surface)
    assert (reading.progress == 1) is reading.met
    assert 0 <= reading.progress <= 1
    return reading.met


def test_the_numbers_that_a_sentence_needs():
    stopped = Story().did(0, WALKOVER, "0", faults=("half-hearted",)).did(3, WALKOVER, "1")
    cleared = read(ClearGate("g", "clear", WALKOVER, 6, 14), stopped, 3)
    assert (cleared.value, cleared.need, dict(cleared.parts)) == (
        1, 6, {"since": 3, "days_need": 14, "none_ever": 0},
    )  # fmt: skip
    seen = read(
        SeenByTwoGate("g", "seen-by-two", WALKOVER, Support.HANDS_ON, 84, False), stopped, 3
    )
    assert (seen.value, seen.need) == (1, 2)
    first = FirstTurnGate("g", "first-turn", WALKOVER, Support.HANDS_ON, 28, False)
    assert (read(first, stopped, 3).value, read(first, stopped, 3).need) == (1, 1)


# --- clean ---------------------------------------------------------------------------

PRACTICE_RULE = CleanRule(rate=0.6, certainty=0.9, days=3, clean=6)
UNSPOTTED_RULE = CleanRule(rate=0.8, certainty=0.8, days=4, clean=12)


def practice(support=Support.LIGHT_TOUCH):
    return CleanGate("g", "clean", WALKOVER, PRACTICE_RULE, support, False, False)


def unspotted():
    return CleanGate("g", "clean", WALKOVER, UNSPOTTED_RULE, Support.STANDING_BY, True, True)


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
    gate = CleanGate("g", "clean", WALKOVER, sure, Support.LIGHT_TOUCH, False, False)
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


def test_another_order_of_surfaces_counts_the_same_turns_anew():
    """One record, read under two ladders."""
    evidence = Evidence(
        tally_turns(on_days("1" * 10, 0, 1, 2, 3, support=1, surface=WEDGE).turns, {})
    )
    turned = dataclasses.replace(LADDER, surfaces=tuple(reversed(LADDER.surfaces)))
    for ladder, met in ((LADDER, False), (turned, True), (LADDER, False)):
        assert read_gate(unspotted(), evidence, day(3), ladder, MAT).met is met


def test_turns_that_are_added_later_are_read():
    evidence = Evidence(tally_turns(on_days("1" * 10, 0, 1, support=2).turns, {}))
    assert not read_gate(practice(), evidence, day(2), LADDER).met
    evidence.add(tally_turns(on_days("1" * 10, 2, support=2).turns, {}))
    assert read_gate(practice(), evidence, day(2), LADDER).met


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
        gate = CleanGate("g", "clean", WALKOVER, rule, Support.LIGHT_TOUCH, False, False)
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


# --- reach ---------------------------------------------------------------------------


def hold(at_least=20, days=2, within=90):
    return ReachGate("g", "reach", HOLD, at_least, days, within, graded=False)


def line(at_least=2, days=2, within=90):
    return ReachGate("g", "reach", GRADED, at_least, days, within, graded=True)


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


# --- clear ---------------------------------------------------------------------------


def clear(clean=3, days=14):
    return ClearGate("g", "clear", WALKOVER, clean, days)


def stopped(number=0, **about):
    return Story().did(number, WALKOVER, "0", faults=("half-hearted",), **about)


def test_clear_is_met_while_there_was_never_a_stop_sign():
    assert is_met(clear(), Story(), 0)
    reading = read(clear(), Story().did(0, WALKOVER, "000"), 0)
    assert (reading.met, reading.stale_on, reading.parts["none_ever"]) == (True, None, 1)


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


def test_a_later_stop_sign_starts_anew_whoever_saw_it():
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


# --- count ---------------------------------------------------------------------------


def count(clean=3, within=365):
    return CountGate("g", "count", "safe-fall", clean, within)


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


# --- seen by two ---------------------------------------------------------------------


def by_two(support=Support.STANDING_BY):
    return SeenByTwoGate("g", "seen-by-two", WALKOVER, support, 84, True)


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


# --- first turn of the day -----------------------------------------------------------


def first_turn():
    return FirstTurnGate("g", "first-turn", WALKOVER, Support.STANDING_BY, 28, True)


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
