"""Falls and the way back at their edges: what counts, who says yes, what starts again."""

import copy

import pytest

from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.days import replay
from readiness.engine.replay.state import Cause
from readiness.engine.support import allowed_now
from tests.support.engine.plays import evidence_of
from tests.support.engine.records import (
    CONTENT,
    EARLIER,
    HARD,
    LADDER,
    MAT,
    Story,
    day,
    unspotted_walkover,
    with_stage,
)

STOP = ("half-hearted",)
WALKOVER = "back-walkover"


def fallen() -> Story:
    """Signed for the mat, and a stop sign on day 35."""
    return unspotted_walkover().did(35, WALKOVER, "0", support=1, faults=STOP)


def back_at_standing_by() -> Story:
    """Two steps of the way back are walked; the last one is a person's."""
    return fallen().did(38, WALKOVER, "111").did(41, WALKOVER, "111", support=2)


# --- open and closed -----------------------------------------------------------------


def test_a_drill_of_a_closed_stage_is_not_allowed_though_no_support_is_logged():
    story = Story().did(0, "wall-shrugs", [5], support=0)
    for drill, expected in (("wall-shrugs", None), ("shrugs-knees", Support.UNSPOTTED)):
        now = allowed_now(LADDER.drills[drill], story.read(1).state, evidence_of([]), LADDER, MAT)
        assert now.support is expected


def test_a_drill_is_closed_until_what_it_needs_is_met():
    story = with_stage(2)
    assert story.allowed(0, "kick-over-block") == "hands-on"
    assert story.allowed(0, "kick-over-floor") is None
    for number in (0, 3, 6):
        story.did(number, "kick-over-block", "1111", support=2)
    assert story.allowed(6, "kick-over-floor") is None
    assert story.allowed(7, "kick-over-floor") == "hands-on"


def test_a_drill_whose_stage_gives_it_no_support_is_closed():
    content = copy.deepcopy(CONTENT)
    drill = next(drill for drill in content["drill"] if drill["key"] == WALKOVER)
    drill["allow"] = [step for step in drill["allow"] if step["stage"] == 4]
    story = with_stage(3)
    story.ladder = Ladder.from_content(content)
    now = story.read(1).allowed(WALKOVER, MAT)
    assert (now.support, now.causes) == (None, ("closed",))


def test_drills_are_open_from_the_day_after_what_opens_them():
    story = Story().did(0, "hollow-hold", [5]).happened(60, "place", stage="3", surface=MAT)
    early, late = story.read(60).state, story.read(61)
    assert early.drills["hollow-hold"].open_since == day(0)
    assert WALKOVER not in early.drills
    assert late.state.drills[WALKOVER].open_since == day(61)
    assert [cause.code for cause in late.state.way_back(WALKOVER).causes] == ["placed"]
    assert late.stage("3").state == "open"


def test_a_second_placing_leaves_what_is_open_as_it_is():
    story = with_stage(6).did(7, "handspring", "111").happened(7, "place", stage="7", surface=MAT)
    state = story.read(8).state
    assert state.drills["handspring"].open_since == day(0)
    assert state.opened["6"].since == day(0)
    assert state.opened["7"].since == day(8)


# --- lately --------------------------------------------------------------------------


@pytest.mark.parametrize(
    "about",
    [
        {"support": 3},
        {"support": 1, "author": 9, "graded": False},
        {"support": 1, "surface": "wedge"},
    ],
    ids=["held", "not graded", "easier surface"],
)
def test_lately_of_a_signed_stage_counts_what_its_gate_counts(about):
    # Of these turns two in five are clean. That is too few at four in five, which the signed
    # stage asks for, and enough at three in five, which its steps ask for.
    signed = unspotted_walkover().did(35, WALKOVER, "11111", support=1)
    signed.did(42, WALKOVER, "1100000", support=1)
    assert [cause.stages for cause in signed.read(42).allowed(WALKOVER, MAT).falls] == [("4",)]
    other = unspotted_walkover().did(35, WALKOVER, "11111", support=1)
    other.did(42, WALKOVER, "1100000", **about)
    assert other.read(42).allowed(WALKOVER, MAT).falls == ()
    assert other.causes(43, "4") == []


def test_lately_counts_from_the_first_day_on_which_the_stage_is_open():
    story = unspotted_walkover().did(29, WALKOVER, "00000", support=1)
    assert story.causes(29, "4") == ["lately"]
    assert story.read(29).allowed(WALKOVER, MAT).causes == ("lately",)
    assert story.causes(30, "4") == ["lately"]
    assert story.read(30).allowed(WALKOVER, MAT).causes == ("lately",)


def test_after_lately_alone_the_last_step_is_a_coachs_tap():
    story = unspotted_walkover().did(29, WALKOVER, "00000", support=1)
    story.did(32, WALKOVER, "111", support=1)
    assert [(tap.again, tap.director) for tap in story.read(32).taps] == [(True, False)]
    story.happened(32, "step", drill=WALKOVER, support=0)
    assert story.state(33, "4") == "open"


def test_each_fall_of_a_day_is_told_once():
    story = unspotted_walkover().did(29, WALKOVER, "0" * 12, support=1)
    falls = story.read(29).allowed(WALKOVER, MAT).falls
    assert len(falls) == len(set(falls))
    assert Cause("lately", day(29), ("4",), Support.STANDING_BY) in falls


def test_lately_gives_no_reason_where_hands_are_on_anyway():
    story = with_stage(7).did(3, "handspring", "0" * 12)
    now = story.read(3).allowed("handspring", MAT)
    assert (now.support, now.causes) == (Support.HANDS_ON, ())
    assert [cause.code for cause in now.falls] == ["lately"]


# --- stop signs ----------------------------------------------------------------------


def test_a_stop_sign_gives_its_reason_where_it_asks_for_more():
    now = fallen().read(35).allowed(WALKOVER, MAT)
    assert (now.support, now.causes) == (Support.HANDS_ON, ("stop-sign",))
    # The walkover in a dance starts hands-on: nothing more is asked for there.
    dance = fallen().read(35).allowed("walkover-in-dance", MAT)
    assert (dance.support, dance.causes) == (Support.HANDS_ON, ())


def test_a_stop_sign_at_a_hands_on_stage_is_a_recheck_with_no_more_support():
    story = with_stage(6).did(3, "handspring", "111").did(6, "handspring", "0", faults=STOP)
    now = story.read(7).allowed("handspring", MAT)
    assert (now.support, now.causes) == (Support.HANDS_ON, ())
    assert story.causes(7, "6") == ["stop-sign"]
    assert story.did(9, "handspring", "111").state(10, "6") == "open"


@pytest.mark.parametrize(("apart", "directors"), [(28, True), (29, False)])
def test_two_stop_signs_in_28_days_make_the_last_step_the_directors(apart, directors):
    story = fallen().did(38, WALKOVER, "111")
    number = 35 + apart
    story.did(number, WALKOVER, "0", faults=STOP)
    for at, support in enumerate((3, 2, 1), start=1):
        story.did(number + at, WALKOVER, "111", support=support)
    assert [tap.director for tap in story.read(number + 3).taps] == [directors]


def test_after_changed_evidence_the_last_step_is_the_directors():
    story = unspotted_walkover()
    story.turns = [turn for turn in story.turns if turn.author == 1]
    story.did(32, WALKOVER, "111", support=1)
    story.happened(32, "step", drill=WALKOVER, support=0)
    assert story.causes(33, "4") == ["evidence-changed"]
    story.happened(33, "step", drill=WALKOVER, support=0, director=True)
    assert story.state(34, "4") == "open"


def test_after_changed_evidence_one_step_more_than_the_least_the_stage_gives():
    content = copy.deepcopy(CONTENT)
    drill = next(drill for drill in content["drill"] if drill["key"] == WALKOVER)
    drill["allow"].insert(-1, {"stage": 4, "support": "standing-by"})
    story = unspotted_walkover()
    story.ladder = Ladder.from_content(content)
    story.turns = [turn for turn in story.turns if turn.author == 1]
    causes = story.read(32).state.way_back(WALKOVER).causes
    assert [(cause.code, cause.asks) for cause in causes] == [
        ("evidence-changed", Support.STANDING_BY)
    ]


# --- the way back --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("outcomes", "step"), [("1" * 14, True), ("0" + "1" * 14, False), ("10" + "1" * 13, True)]
)
def test_the_first_turn_of_the_day_must_be_clean_however_many_are(outcomes, step):
    story = fallen().did(38, WALKOVER, outcomes)
    assert story.allowed(39, WALKOVER) == ("light-touch" if step else "hands-on")


def test_the_first_turn_of_the_day_must_be_at_the_support_of_the_step():
    story = fallen().did(38, WALKOVER, "111")
    story.did(41, WALKOVER, "1", support=3).did(41, WALKOVER, "111", support=2)
    assert story.allowed(42, WALKOVER) == "light-touch"
    assert story.did(44, WALKOVER, "1", support=2).allowed(45, WALKOVER) == "standing-by"


def test_the_first_turn_of_the_last_step_must_be_on_the_signed_surface():
    story = back_at_standing_by()
    story.did(44, WALKOVER, "1", support=1, surface="wedge").did(44, WALKOVER, "111", support=1)
    assert story.read(44).taps == ()
    assert len(story.did(47, WALKOVER, "1", support=1).read(47).taps) == 1


def test_turns_with_more_support_than_the_step_asks_for_do_not_count():
    story = fallen().did(38, WALKOVER, "111").did(41, WALKOVER, "1", support=2)
    story.did(41, WALKOVER, "11", support=3)
    assert story.allowed(42, WALKOVER) == "light-touch"


def test_three_clean_turns_may_come_on_several_days():
    story = fallen()
    for number, allowed in ((38, "hands-on"), (41, "hands-on"), (44, "light-touch")):
        story.did(number, WALKOVER, "1")
        assert story.allowed(number + 1, WALKOVER) == allowed


# Three of four clean, the first among them: P(rate >= .6) is over a half, P(rate >= .8) is not.
@pytest.mark.parametrize(
    ("start", "drill", "allowed"),
    [("spotted", "handspring", "light-touch"), ("signed", WALKOVER, "hands-on")],
)
def test_lately_on_the_way_back_is_at_the_rate_of_the_furthest_open_stage(start, drill, allowed):
    story = fallen() if start == "signed" else with_stage(7, ladder=EARLIER)
    story.did(38 if start == "signed" else 20, drill, "1101")
    assert story.allowed(39 if start == "signed" else 21, drill) == allowed


def test_a_tap_before_the_last_step_is_earned_gives_nothing():
    story = back_at_standing_by()
    assert story.allowed(42, WALKOVER) == "standing-by"
    story.happened(42, "step", drill=WALKOVER, support=0, director=True)
    assert story.state(43, "4") == "re-check"
    story.did(44, WALKOVER, "11", support=1)
    story.happened(44, "step", drill=WALKOVER, support=0, director=True)
    assert story.state(45, "4") == "re-check"


@pytest.mark.parametrize(
    "tap",
    [
        {"drill": "handspring", "support": 0},
        {"drill": "walkover-in-dance", "support": 0},
        {"drill": WALKOVER, "support": 1},
    ],
    ids=str,
)
def test_a_tap_for_another_drill_or_step_gives_nothing(tap):
    story = back_at_standing_by().did(44, WALKOVER, "111", support=1)
    story.happened(44, "step", **tap, director=True)
    assert story.state(45, "4") == "re-check"


def test_a_second_absence_starts_the_way_back_again():
    story = unspotted_walkover().did(35, WALKOVER, "1", support=1)
    assert story.allowed(35 + 29, WALKOVER) == "hands-on"
    story.did(65, WALKOVER, "111")
    assert story.allowed(66, WALKOVER) == "light-touch"
    assert story.allowed(65 + 28, WALKOVER) == "light-touch"
    assert story.allowed(65 + 29, WALKOVER) == "hands-on"
    away = [cause.day for cause in story.read(65 + 29).state.way_back(WALKOVER).causes]
    assert away == [day(64), day(94)]


def test_one_absence_is_told_once_however_long():
    story = unspotted_walkover().did(35, WALKOVER, "1", support=1)
    for number in range(64, 80):
        story.did(number, "hollow-hold", [5])
    assert [cause.day for cause in story.read(80).state.way_back(WALKOVER).causes] == [day(64)]


def test_turns_before_the_absence_are_no_part_of_the_way_back():
    story = fallen().did(38, WALKOVER, "11").did(38 + 29, WALKOVER, "1")
    assert story.allowed(38 + 30, WALKOVER) == "hands-on"


def test_where_nothing_is_signed_the_surface_of_a_placing_does_not_matter():
    story = Story().happened(-1, "place", stage="5", surface=HARD)
    story.did(0, "snap-down", "0", support=0)
    story.turns[-1] = story.turns[-1]._replace(caught=True)
    for number, support in ((3, 3), (6, 2), (9, 1)):
        story.did(number, "snap-down", "111", support=support, surface=HARD)
    assert story.allowed(10, "snap-down", HARD) == "unspotted"


def test_a_turn_on_the_very_day_of_the_absence_ends_it():
    # Fallen to hands-on on day 64; that day's turns earn the first step, and the next absence
    # asks for hands on again.
    story = unspotted_walkover().did(35, WALKOVER, "1", support=1).did(64, WALKOVER, "111")
    assert story.allowed(64, WALKOVER) == "hands-on"
    assert story.did(66, WALKOVER, "111").allowed(67, WALKOVER) == "light-touch"
    assert story.allowed(66 + 29, WALKOVER) == "hands-on"


def test_an_absence_that_begins_the_day_after_another_was_told_is_told_too():
    story = unspotted_walkover().did(35, WALKOVER, "1", support=1).did(64, WALKOVER, "1")
    causes = story.read(64 + 29).state.way_back(WALKOVER).causes
    assert [(cause.code, cause.day) for cause in causes] == [("away", day(64)), ("away", day(93))]


def test_an_absence_takes_nothing_from_what_was_the_directors_before():
    story = fallen().did(38, WALKOVER, "0", faults=STOP)
    for number in range(67, 72):
        story.did(number, "hollow-hold", [5])
    assert story.read(72).state.way_back(WALKOVER).director


def test_after_a_placing_the_last_step_is_no_directors():
    assert not with_stage(3).read(0).state.way_back(WALKOVER).director


def test_a_step_that_was_earned_is_not_ready_on_a_day_with_a_stop_sign():
    story = back_at_standing_by().did(44, WALKOVER, "111", support=1)
    story.did(45, WALKOVER, "1" * 14, support=1)
    assert [back.ready for back in story.read(45).ways_back] == [True]
    story.did(45, WALKOVER, "0", support=1, faults=STOP)
    assert [back.ready for back in story.read(45).ways_back] == [False]


def test_turns_before_a_drill_was_open_are_none_of_its_first_days():
    story = Story().did(0, "jump-back", "111").did(2, "jump-back", "111")
    story.happened(4, "place", stage="5", surface=MAT)
    story.did(6, "jump-back", "111")
    story.happened(8, "step", drill="jump-back", support=1)
    assert story.allowed(9, "jump-back") == "hands-on"
    story.did(9, "jump-back", "111").happened(9, "step", drill="jump-back", support=1)
    assert story.allowed(10, "jump-back") == "standing-by"


def test_turns_at_a_drill_that_waits_for_another_give_it_no_step():
    story = with_stage(2)
    for number in (0, 3, 6):
        story.did(number, "kick-over-floor", "1111")
    assert story.allowed(7, "kick-over-floor") is None
    assert story.read(7).state.drills["kick-over-floor"].steps == set()


def test_lately_of_exactly_a_half_is_enough_for_a_step():
    # At a rate of .5, three clean of six give Beta(1 + x, 1 + x): a half, whatever the weight.
    content = copy.deepcopy(CONTENT)
    for stage in content["stage"]:
        for gate in stage.get("gate", []):
            if gate["code"] == "4.back-walkover":
                gate["rate"] = 0.5
    story = fallen()
    story.ladder = Ladder.from_content(content)
    story.did(38, WALKOVER, "111000")
    assert story.allowed(39, WALKOVER) == "light-touch"


def test_a_signature_opens_what_is_watched_of_its_own_stage_and_leaves_the_others():
    story = unspotted_walkover()
    before, after = (story.read(number).state.drills[WALKOVER].watched_from for number in (28, 29))
    steps = {name for name in before if name.startswith(WALKOVER)}
    assert steps
    assert {name: after[name] for name in steps} == {name: before[name] for name in steps}
    again = story.happened(30, "sign", stage="4", surface=MAT, director=True)
    assert again.read(31).state.drills[WALKOVER].watched_from["4.back-walkover"] == day(29)


def test_a_ladder_that_asks_for_less_gives_its_step_on_the_next_class_day():
    content = copy.deepcopy(CONTENT)
    content["way_back"]["clean"] = 5
    strict = Ladder.from_content(content)

    def ladder_on(on):
        return LADDER if on >= day(10) else strict

    story = with_stage(7).did(0, "handspring", "111").did(12, "hollow-hold", [5])

    def level(number):
        state = replay(evidence_of(story.turns), story.events, day(number), ladder_on)
        back = state.way_back("handspring")
        return back and back.level

    assert level(13) is Support.HANDS_ON
    story.did(14, "handspring", "1")
    assert level(14) is Support.HANDS_ON
    assert level(15) is None
