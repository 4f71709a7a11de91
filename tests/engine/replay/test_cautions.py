"""What asks for more support during a day: a first turn, doubt, a new surface, a stop before the
turn, and the evening that ends. Common practice, no source."""

import pytest

from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from tests.support.engine.records import (
    EARLIER,
    HARD,
    LADDER,
    MAT,
    Story,
    unspotted_walkover,
    with_stage,
)

WALKOVER = "back-walkover"


def settled(ladder: Ladder = LADDER) -> Story:
    """Signed for the walkover, and clean since: one miss is no fall."""
    story = unspotted_walkover(ladder=ladder)
    for number in (30, 32, 34):
        story.did(number, WALKOVER, "111", support=1)
    return story


# --- the first turn ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("turns", "then"),
    [
        ([("1", 1, MAT, True)], "unspotted"),
        # Not clean, then clean: one miss is allowed for.
        ([("01", 1, MAT, True)], "unspotted"),
        # After two that were not clean it is for the whole class.
        ([("001111", 1, MAT, True)], "standing-by"),
        # With more support than it asks for it is not what was asked.
        ([("111", 2, MAT, True)], "standing-by"),
        # Clean with more support is no miss either.
        ([("11", 2, MAT, True), ("1", 1, MAT, True)], "unspotted"),
        # Done without, it was not standing by.
        ([("1", 0, MAT, True)], "standing-by"),
        # Seen by nobody who may grade.
        ([("1", 1, MAT, False)], "standing-by"),
        # On an easier floor.
        ([("1", 1, "wedge", True)], "standing-by"),
    ],
    ids=str,
)
def test_the_first_turn_stays_standing_by_until_one_is_clean(turns, then):
    story = settled()
    for outcomes, support, surface, graded in turns:
        story.did(35, WALKOVER, outcomes, support=support, surface=surface, graded=graded)
    assert story.allowed(35, WALKOVER) == then
    assert story.allowed(36, WALKOVER) == "standing-by"


def test_a_bad_first_turn_was_followed_by_unspotted_under_earlier_ladders():
    story = settled(EARLIER).did(35, WALKOVER, "0", support=1)
    assert story.allowed(35, WALKOVER) == "unspotted"


def test_a_second_class_on_one_day_begins_anew():
    story = unspotted_walkover().did(35, WALKOVER, "1", support=1, meeting=1)
    assert story.allowed(35, WALKOVER, meeting=1) == "unspotted"
    assert story.allowed(35, WALKOVER, meeting=2) == "standing-by"
    story.did(35, WALKOVER, "1", support=1, meeting=2)
    assert story.allowed(35, WALKOVER, meeting=2) == "unspotted"


# --- doubt ---------------------------------------------------------------------------


def both_skills() -> Story:
    """Signed for the walkover, and at the kick-over and the barrel with hands."""
    story = unspotted_walkover()
    return story.happened(28, "place", stage="6", surface=MAT)


@pytest.mark.parametrize("fault", ["half-hearted", "feet-move"])
def test_doubt_at_one_skill_asks_for_one_step_more_at_the_others_that_day(fault):
    story = both_skills().did(35, WALKOVER, "1", support=1)
    assert story.allowed(35, WALKOVER) == "unspotted"
    story.did(35, "handspring", "0", faults=(fault,))
    now = story.read(35).allowed(WALKOVER, MAT)
    assert (now.support, now.causes) == (Support.STANDING_BY, ("doubt",))
    story.did(35, WALKOVER, "111", support=1)
    assert story.allowed(35, WALKOVER) == "standing-by"


def test_and_for_the_first_turn_at_each_on_the_next_class_day():
    story = with_stage(6)
    for number in (0, 7, 14, 21):
        story.did(number, WALKOVER, "1111", support=2)
    story.happened(21, "step", drill=WALKOVER, support=1)
    story.did(22, "handspring", "0", faults=("half-hearted",))
    assert story.allowed(23, WALKOVER) == "light-touch"
    assert story.allowed(29, WALKOVER) == "light-touch"
    story.did(29, WALKOVER, "1", support=2)
    assert story.allowed(29, WALKOVER) == "standing-by"
    assert story.allowed(30, WALKOVER) == "standing-by"
    # The skill at which it was seen has a way back of its own.
    assert story.allowed(30, "handspring") == "hands-on"


@pytest.mark.parametrize("cause", ["doubt", "growing"])
def test_a_stop_before_the_turn_is_not_the_day_s_first_turn(cause):
    story = with_stage(6)
    for number in (0, 7, 14, 21):
        story.did(number, WALKOVER, "1111", support=2)
    story.happened(21, "step", drill=WALKOVER, support=1)
    if cause == "doubt":
        story.did(22, "handspring", "0", faults=("half-hearted",))
    else:
        story.happened(22, "growing")
    for outcomes in ("", "0"):
        story.did(29, WALKOVER, outcomes, support=2, faults=("stopped-before",))
        now = story.read(29).allowed(WALKOVER, MAT)
        assert (now.support, now.causes) == (Support.LIGHT_TOUCH, (cause,))
    assert story.did(29, WALKOVER, "1", support=2).allowed(29, WALKOVER) == "standing-by"


def test_a_drill_that_only_leads_to_a_skill_carries_no_doubt():
    story = both_skills().did(35, WALKOVER, "1", support=1)
    story.did(35, "barrel", "0", faults=("half-hearted",))
    assert story.allowed(35, WALKOVER) == "unspotted"


# --- stopping before the turn --------------------------------------------------------


def test_stopping_before_the_turn_is_no_turn_and_no_stop_sign():
    story = unspotted_walkover()
    before = story.read(35)
    story.did(35, WALKOVER, "0", support=1, faults=("stopped-before",))
    after = story.read(35)
    assert [stage.gates for stage in after.stages] == [stage.gates for stage in before.stages]
    assert after.stage("4").causes == ()
    assert story.allowed(35, WALKOVER) == "standing-by"
    assert story.did(35, WALKOVER, "1", support=1).allowed(35, WALKOVER) == "unspotted"


def test_stopping_twice_asks_for_one_step_more_that_evening_and_carries_over():
    story = both_skills().did(35, WALKOVER, "1", support=1)
    story.did(35, WALKOVER, "00", support=0, faults=("stopped-before",))
    now = story.read(35).allowed(WALKOVER, MAT)
    assert (now.support, now.causes) == (Support.STANDING_BY, ("stopped-before",))
    assert story.read(35).allowed("walkover-in-dance", MAT).falls == ()
    # The next class day: its own first turn stands by anyway.
    assert story.read(42).state.doubt.skills == {WALKOVER}
    assert story.read(36).stage("4").causes == ()


def test_once_under_earlier_ladders_two_were_a_stop_sign():
    story = settled(EARLIER).did(35, WALKOVER, "111", support=1)
    story.did(35, WALKOVER, "00", support=0, faults=("stopped-before",))
    assert story.causes(35, "4") == ["stop-sign"]


# --- a new surface -------------------------------------------------------------------


def test_a_harder_surface_asks_for_one_step_more_until_three_turns_there_are_clean():
    story = with_stage(3)
    for number in (0, 7, 14):
        story.did(number, WALKOVER, "1111", support=3)
    assert story.allowed(15, WALKOVER, MAT) == "light-touch"
    now = story.read(15).allowed(WALKOVER, HARD)
    assert (now.support, now.causes) == (Support.HANDS_ON, ("new-surface",))
    story.did(16, WALKOVER, "1101", surface=HARD)
    assert story.allowed(16, WALKOVER, HARD) == "hands-on"
    # Three clean, which count from the next day.
    assert story.allowed(17, WALKOVER, HARD) == "light-touch"


def test_at_least_standing_by_on_a_new_surface():
    story = with_stage(5).did(0, "snap-down", "111", support=0)
    assert story.allowed(1, "snap-down", MAT) == "unspotted"
    assert story.allowed(1, "snap-down", "wedge") == "unspotted"
    assert story.allowed(1, "snap-down", HARD) == "standing-by"
    earlier = with_stage(5, ladder=EARLIER).did(0, "snap-down", "111", support=0)
    assert earlier.allowed(1, "snap-down", HARD) == "unspotted"


# --- the evening that ends -----------------------------------------------------------


@pytest.mark.parametrize("fault", ["head-touches", "arms-give"])
def test_after_the_head_touched_or_arms_gave_nothing_backward_that_evening(fault):
    story = with_stage(6).did(1, "kick-over-block", "0", faults=(fault,))
    for drill in (WALKOVER, "handspring", "barrel", "kick-to-handstand", "snap-down"):
        now = story.read(1).allowed(drill, MAT)
        assert (drill, now.support, now.causes) == (drill, None, ("nothing-backward",))
        assert story.allowed(2, drill) is not None


# --- hands leave by a tap ------------------------------------------------------------


def steady_hands_on(ladder: Ladder = LADDER) -> Story:
    story = with_stage(7, ladder=ladder)
    for number in (0, 7, 14, 21):
        story.did(number, "handspring", "111")
    return story


def test_hands_never_leave_the_handspring_by_themselves():
    story = steady_hands_on()
    assert story.allowed(22, "handspring") == "hands-on"
    (tap,) = [tap for tap in story.read(22).taps if tap.drill == "handspring"]
    assert (tap.support, tap.director, tap.again) == (Support.LIGHT_TOUCH, False, False)
    story.happened(22, "step", drill="handspring", support=2)
    assert story.allowed(22, "handspring") == "hands-on"
    assert story.allowed(23, "handspring") == "light-touch"
    assert steady_hands_on(EARLIER).allowed(22, "handspring") == "light-touch"


@pytest.mark.parametrize(
    ("days", "due"),
    [
        # Twelve clean turns on four days are asked for.
        ((("111", ()),) * 4, True),
        ((("1111", ()),) * 3, False),
        ((("111", ()),) * 3 + (("11", ()),), False),
        # Of the newest twelve at least seven in ten: 9 of 12 and 8 of 12.
        ((("1111", ()),) * 3 + (("1110", ()), ("1110", ()), ("1110", ())), True),
        ((("1111", ()),) * 5 + (("110110110110", ()),), False),
        # A stop sign among the newest.
        ((("1111", ()),) * 4 + (("11110", ("half-hearted",)),), False),
    ],
    ids=["12 on 4", "3 days", "11 turns", "9 of 12", "8 of 12", "a stop sign"],
)
def test_what_a_tap_asks_of_the_record(days, due):
    story = with_stage(7)
    for week, (outcomes, faults) in enumerate(days):
        story.did(7 * week, "handspring", outcomes, faults=faults)
    taps = [tap for tap in story.read(7 * len(days) - 6).taps if tap.drill == "handspring"]
    assert bool([tap for tap in taps if not tap.again]) is due


def test_the_way_back_of_a_handspring_is_walked_by_taps():
    story = steady_hands_on().happened(22, "step", drill="handspring", support=2)
    story.did(23, "handspring", "0", support=2, faults=("half-hearted",))
    story.did(30, "handspring", "111")
    assert story.allowed(31, "handspring") == "hands-on"
    (tap,) = story.read(31).taps
    assert (tap.drill, tap.support, tap.again) == ("handspring", Support.LIGHT_TOUCH, True)
    story.happened(31, "step", drill="handspring", support=2)
    assert story.allowed(31, "handspring") == "hands-on"
    assert story.allowed(32, "handspring") == "light-touch"
    assert story.state(32, "7") == "open"


def test_steps_given_before_stay_under_a_ladder_that_asks_for_taps():
    story = steady_hands_on(EARLIER)
    story.did(22, "handspring", "1", support=2)
    assert "7:light-touch" in story.read(23).state.drills["handspring"].steps
    state = story.under(23).state
    assert "7:light-touch" in state.drills["handspring"].steps
    assert story.under(23).allowed("handspring", MAT).support == Support.LIGHT_TOUCH


# --- the director's ------------------------------------------------------------------


@pytest.mark.parametrize(("days", "directors"), [((35, 80, 125), True), ((35, 80, 156), False)])
def test_the_third_fall_within_a_season_is_the_directors(days, directors):
    """120 days back still counts."""
    story = unspotted_walkover()
    for number in range(31, days[-1], 4):
        if all(not 0 <= number - fall <= 9 for fall in days):
            story.did(number, WALKOVER, "111", support=1)
    for fall in days:
        story.did(fall, WALKOVER, "0", support=1, faults=("half-hearted",))
        for at, support in enumerate((3, 2, 1), start=1):
            story.did(fall + 3 * at, WALKOVER, "111", support=support)
        (tap,) = [tap for tap in story.read(fall + 9).taps if tap.again]
        last = tap.director
        story.happened(fall + 9, "step", drill=WALKOVER, support=0, director=True)
    assert last is directors
