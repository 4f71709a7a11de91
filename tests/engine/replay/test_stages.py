"""Opening stages, re-check and the way back, told as stories of one child."""

import pytest

from readiness.engine.levels import Support
from readiness.engine.support import has_fallen
from tests.support.engine.records import (
    EARLIER,
    HARD,
    LADDER,
    MAT,
    Story,
    day,
    unspotted_walkover,
    with_stage,
)


def stage_two_record() -> Story:
    story = Story()
    for number in (0, 7):
        story.did(number, "hollow-hold", [15]).did(number, "arch-hold", [15])
        story.did(number, "front-support", [20]).did(number, "wall-handstand", [10])
        story.did(number, "name-the-shape", [5])
    return story.did(7, "safe-fall", "111")


def test_stage_one_is_open_to_everybody():
    reading = Story().read(0).stage("1")
    assert (reading.state, reading.score, reading.gates) == ("open", 100, ())


def test_a_stage_opens_by_evidence_on_the_next_day():
    story = stage_two_record()
    met = story.read(7).stage("2")
    assert (met.state, met.score, met.opens_tomorrow) == ("closed", 100, True)
    opened = story.read(8).stage("2")
    assert (opened.state, opened.opening.since, opened.opening.how) == ("open", day(8), "evidence")


def test_one_strong_gate_never_pays_for_a_weak_one():
    story = stage_two_record().did(14, "hollow-hold", [300])
    story.turns = [turn for turn in story.turns if turn.drill != "arch-hold"]
    reading = story.read(30).stage("2")
    assert reading.state == "closed"
    assert reading.holding.gate.code == "2.arch-hold"


def test_an_open_stage_stays_open_when_its_strength_gates_go_stale():
    story = stage_two_record()
    assert not any(
        gate.met for gate in story.read(120).stage("2").gates if gate.gate.kind == "reach"
    )
    assert story.state(120, "2") == "open"


def test_each_stage_needs_the_one_before_it():
    story = Story()
    for number in (0, 7, 14, 21):
        story.did(number, "hollow-hold", [40]).did(number, "bridge-hold", [12])
        story.did(number, "wall-handstand", [25]).did(number, "bridge-line", [2, 2])
        story.did(number, "kick-over-block", "111", support=2)
        story.did(number, "back-bend-raised", "111", support=2)
    reading = story.read(22).stage("3")
    assert all(gate.met for gate in reading.gates)
    assert (reading.state, reading.waits_for) == ("closed", ("2",))


def test_a_signed_stage_is_for_review_until_a_director_signs():
    story = unspotted_walkover()
    story.events.pop()
    assert story.state(28, "4") == "for-review"
    story.happened(28, "sign", stage="4", surface=MAT, director=True)
    assert story.state(28, "4") == "for-review"
    opened = story.read(29).stage("4")
    assert (opened.state, opened.opening.how, opened.surface) == ("open", "signature", MAT)


def test_a_signature_names_a_surface_and_does_not_count_for_a_harder_one():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    assert story.allowed(35, "back-walkover") == "unspotted"
    # Each floor has a first turn of its own.
    assert story.allowed(35, "back-walkover", "wedge") == "standing-by"
    story.did(35, "back-walkover", "1", support=1, surface="wedge")
    assert story.allowed(35, "back-walkover", "wedge") == "unspotted"
    # Standing by was never tapped for; light touch came with being steady, and this floor is new.
    assert story.allowed(35, "back-walkover", HARD) == "hands-on"


def test_the_first_turn_of_each_day_is_standing_by():
    story = unspotted_walkover()
    reading = story.read(35).allowed("back-walkover", MAT)
    assert (reading.support, reading.causes) == (Support.STANDING_BY, ("until-clean",))
    story.did(35, "back-walkover", "1", support=1)
    assert story.allowed(35, "back-walkover") == "unspotted"
    assert story.allowed(36, "back-walkover") == "standing-by"


def test_sent_back_waits_for_a_new_class_day():
    story = unspotted_walkover()
    story.events.pop()
    story.happened(28, "send-back", stage="4", director=True)
    assert story.read(29).stage("4").sent_back
    assert story.state(29, "4") == "closed"
    story.did(35, "back-walkover", "111", support=1)
    assert story.state(35, "4") == "for-review"


def test_a_signature_withdrawn_closes_the_stage_at_once():
    story = unspotted_walkover().happened(40, "send-back", stage="4", director=True)
    story.did(40, "back-walkover", "1", support=1)
    assert story.state(40, "4") == "closed"
    assert story.allowed(40, "back-walkover") != "unspotted"


# --- re-check ------------------------------------------------------------------------


def test_a_stop_sign_sends_to_recheck_at_once_with_hands_on():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    story.did(35, "back-walkover", "0", support=0, faults=("half-hearted",))
    reading = story.read(35)
    assert reading.stage("4").state == "re-check"
    assert story.causes(35, "4") == ["stop-sign"]
    assert story.allowed(35, "back-walkover") == "hands-on"
    assert story.state(36, "4") == "re-check"
    assert story.state(36, "3") == "re-check"


def test_a_stop_sign_with_hands_on_ends_the_skill_for_tonight():
    story = with_stage(6).did(7, "handspring", "0", faults=("arms-give",))
    allowed = story.read(7).allowed("handspring", MAT)
    assert allowed.support is None
    assert "finished-tonight" in allowed.causes
    assert story.allowed(8, "handspring") == "hands-on"


def test_caught_is_a_stop_sign():
    story = with_stage(6).did(7, "handspring", "0", caught=True)
    assert story.causes(8, "6") == ["stop-sign"]


@pytest.mark.parametrize(("misses", "causes"), [("0", []), ("00", ["stop-sign"])])
def test_some_faults_are_stop_signs_the_second_time_on_a_day(misses, causes):
    story = with_stage(6).did(7, "handspring", "1" + misses, faults=("undercut",))
    assert story.causes(8, "6") == causes


def test_stopping_before_the_floor_is_left_is_no_stop_sign_however_often():
    story = with_stage(6).did(7, "handspring", "1000", faults=("stopped-before",))
    assert story.causes(8, "6") == []


def test_28_days_without_a_turn_are_no_absence_and_29_are():
    story = unspotted_walkover().did(35, "back-walkover", "111", support=1)
    assert story.state(35 + 28, "4") == "open"
    assert story.causes(35 + 29, "4") == ["away"]
    assert story.allowed(35 + 29, "back-walkover") == "hands-on"


def test_a_struck_stop_sign_takes_its_fall_with_it():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    story.did(35, "back-walkover", "0", support=0, faults=("drops-in",))
    assert story.state(36, "4") == "re-check"
    story.turns.pop()
    assert story.state(36, "4") == "open"


def test_lately_falls_during_the_class_and_is_not_given_back_that_day():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    story.did(35, "back-walkover", "1111", support=0)
    # Worked: with one day 5 of 5, each day fading by half with two later own days,
    # P(rate >= .8) is under .1 after four misses in a row.
    story.did(42, "back-walkover", "00000", support=0)
    assert story.causes(42, "4") == ["lately"]
    raised = story.allowed(42, "back-walkover")
    assert raised == "standing-by"
    story.did(42, "back-walkover", "111111111", support=0)
    assert story.allowed(42, "back-walkover") == raised


def test_evidence_that_changed_after_the_signature_sends_to_recheck():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    assert story.state(36, "4") == "open"
    seen_by_second = [t for t in story.turns if t.author == 2 and t.drill == "back-walkover"]
    story.turns = [turn for turn in story.turns if turn not in seen_by_second]
    assert story.causes(36, "4") == ["evidence-changed"]
    assert story.allowed(36, "back-walkover") == "standing-by"


def test_entering_needs_the_stage_before_off_recheck_but_open_stages_stay():
    story = with_stage(7)
    story.did(0, "handspring", "0", support=2, faults=("turns-in-air",))
    assert story.state(1, "7") == "re-check"
    assert "7" in story.read(1).stage("8").waits_for


# --- the way back --------------------------------------------------------------------


def fallen() -> Story:
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    return story.did(35, "back-walkover", "0", support=0, faults=("half-hearted",))


def test_the_way_back_goes_one_step_a_class_day():
    story = fallen().did(42, "back-walkover", "111")
    assert story.allowed(42, "back-walkover") == "hands-on"
    assert story.allowed(43, "back-walkover") == "light-touch"
    story.did(49, "back-walkover", "111", support=2)
    assert story.allowed(50, "back-walkover") == "standing-by"
    story.did(56, "back-walkover", "111", support=1)
    assert story.allowed(57, "back-walkover") == "standing-by"
    story.happened(57, "step", drill="back-walkover", support=0)
    assert story.state(57, "4") == "re-check"
    assert story.state(58, "4") == "open"


def test_the_first_turn_of_the_day_must_be_among_the_clean_ones():
    story = fallen().did(42, "back-walkover", "0111")
    assert story.allowed(43, "back-walkover") == "hands-on"


def test_two_clean_turns_are_not_enough_for_a_step():
    story = fallen().did(42, "back-walkover", "11")
    assert story.allowed(43, "back-walkover") == "hands-on"


def test_the_last_step_is_a_tap_and_a_tap_too_early_gives_nothing():
    story = fallen().happened(36, "step", drill="back-walkover", support=0)
    assert story.allowed(43, "back-walkover") == "hands-on"


def test_after_two_stop_signs_in_28_days_the_last_step_is_the_directors():
    story = fallen().did(42, "back-walkover", "0", faults=("half-hearted",))
    story.did(49, "back-walkover", "111").did(56, "back-walkover", "111", support=2)
    story.did(63, "back-walkover", "111", support=1)
    story.happened(63, "step", drill="back-walkover", support=0)
    assert story.state(64, "4") == "re-check"
    story.happened(64, "step", drill="back-walkover", support=0, director=True)
    assert story.state(65, "4") == "open"


def test_after_eight_weeks_away_the_last_step_is_the_directors():
    story = unspotted_walkover().did(35, "back-walkover", "111", support=1)
    for at, support in enumerate((3, 2, 1)):
        story.did(35 + 57 + 7 * at, "back-walkover", "111", support=support)
    number = 35 + 57 + 14
    story.happened(number, "step", drill="back-walkover", support=0)
    assert story.state(number + 1, "4") == "re-check"
    story.happened(number + 1, "step", drill="back-walkover", support=0, director=True)
    assert story.state(number + 2, "4") == "open"


def test_a_new_stop_sign_starts_the_way_back_again():
    story = fallen().did(42, "back-walkover", "111")
    story.did(49, "back-walkover", "10", support=2, faults=("half-hearted",))
    assert story.allowed(49, "back-walkover") == "hands-on"
    assert story.allowed(50, "back-walkover") == "hands-on"


# --- placing, steps, exception -------------------------------------------------------


def test_a_placing_opens_the_stages_below_but_no_signed_one_from_the_next_day():
    story = Story().happened(0, "place", stage="7", surface=MAT)
    assert story.state(0, "7") == "closed"
    states = {stage.stage.code: stage.state for stage in story.read(1).stages}
    assert [code for code, state in states.items() if state == "open"] == list("123567")
    assert states["4"] == states["8"] == "closed"


def test_a_placed_child_starts_hands_on_and_walks_back():
    story = Story().happened(0, "place", stage="7", surface=MAT)
    allowed = story.read(1).allowed("handspring", MAT)
    assert (allowed.support, allowed.causes) == (Support.HANDS_ON, ())
    walkover = story.read(1).allowed("back-walkover", MAT)
    assert (walkover.support, walkover.causes) == (Support.HANDS_ON, ())
    story.did(7, "handspring", "111")
    assert story.allowed(8, "handspring") == "hands-on"
    assert story.read(8).state.way_back("handspring") is None
    earlier = Story(EARLIER).happened(0, "place", stage="7", surface=MAT)
    assert earlier.read(1).allowed("handspring", MAT).causes == ("placed",)
    assert earlier.did(7, "handspring", "111").allowed(8, "handspring") == "light-touch"


def test_light_touch_at_the_walkover_comes_when_steady_hands_on():
    story = with_stage(3)
    for number in (0, 7, 14):
        story.did(number, "back-walkover", "1111")
    assert story.allowed(14, "back-walkover") == "hands-on"
    assert story.allowed(15, "back-walkover") == "light-touch"


def test_standing_by_at_the_walkover_takes_a_coachs_tap():
    story = with_stage(3)
    for number in (0, 7, 14, 21):
        story.did(number, "back-walkover", "1111", support=2)
    assert story.allowed(22, "back-walkover") == "light-touch"
    story.happened(22, "step", drill="back-walkover", support=1)
    assert story.allowed(22, "back-walkover") == "light-touch"
    assert story.allowed(23, "back-walkover") == "standing-by"


def test_jump_back_is_hands_on_until_two_days_with_three_clean_turns_and_a_tap():
    story = with_stage(5).did(0, "jump-back", "1011")
    story.did(7, "jump-back", "11").did(7, "jump-back", "0")
    story.happened(7, "step", drill="jump-back", support=1)
    assert story.allowed(8, "jump-back") == "hands-on"
    story.did(14, "jump-back", "111")
    assert story.allowed(15, "jump-back") == "hands-on"
    assert story.happened(15, "step", drill="jump-back", support=1).read(15).taps
    assert story.allowed(15, "jump-back") == "hands-on"
    assert story.allowed(16, "jump-back") == "standing-by"


def test_an_exception_stands_for_stage_four_only():
    story = with_stage(5)
    assert set(story.read(1).stage("6").waits_for) == {"4"}
    story.happened(1, "exception", stage="6", director=True)
    assert story.read(2).stage("6").waits_for == ()


def test_sit_fall_opens_after_three_clean_safe_falls():
    story = Story().did(0, "safe-fall", "11")
    assert story.read(1).state.drills["sit-fall"].open_since is None
    story.did(7, "safe-fall", "1")
    assert story.read(8).state.drills["sit-fall"].open_since == day(8)


# --- pauses --------------------------------------------------------------------------


def test_a_pause_counts_at_once_and_its_end_from_the_next_day():
    story = unspotted_walkover().happened(40, "pause")
    assert story.state(40, "4") == "paused"
    assert story.allowed(40, "back-walkover") is None
    story.happened(44, "lift", director=True)
    assert story.state(44, "4") == "paused"
    assert story.state(45, "4") == "open"


def test_lately_of_exactly_half_of_what_knowing_nothing_gives_is_no_fall():
    # One miss at a rate of .5: P(Beta(1, 2) >= .5) = .5^2, half of 1 - .5.
    assert not has_fallen([(day(0), 1, 0)], day(0), 0.5, LADDER)
    assert has_fallen([(day(0), 2, 0)], day(0), 0.5, LADDER)
