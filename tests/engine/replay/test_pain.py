"""Something hurts: what is left out, until when, and what pauses."""

import copy

import pytest

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.replay.days import replay
from readiness.engine.support import allowed_at_start, asked_about
from tests.support.engine.records import CONTENT, LADDER, MAT, Story, day, with_stage


@pytest.mark.parametrize("place", ["head", "neck", "back-fall"])
def test_head_neck_and_the_back_after_a_fall_pause(place):
    assert with_stage(6).happened(3, "pain", place=place).state(3, "6") == "paused"


# Common practice, no source.
@pytest.mark.parametrize(
    ("place", "out", "stays"),
    [
        ("wrist", "handspring sit-fall sit-and-reach jump-back wall-shrugs", "sit-depth rebound"),
        ("hand", "front-support sit-fall sit-and-reach jump-back", "swing-jump hollow-hold"),
        ("shoulder", "bridge-hold sit-fall sit-and-reach jump-back", "sit-depth"),
        ("ribs", "front-support arch-hold wall-shrugs sit-fall", "sit-depth hollow-hold"),
        ("back", "wall-shrugs bridge-hold jump-back safe-fall", "front-support sit-depth"),
        ("hip", "bridge-hold bridge-line bridge-rocks back-walkover rebound", "front-support"),
        ("thigh", "bridge-hold back-bend-raised kick-over-block", "front-support hollow-hold"),
        ("knee", "sit-depth sit-fall sit-and-reach swing-jump", "bridge-hold front-support"),
        ("ankle", "swing-jump kick-over-block", "sit-depth bridge-hold"),
        ("dizzy", "hollow-hold name-the-shape sit-depth handspring", ""),
    ],
)
def test_what_hurts_leaves_out_what_loads_it(place, out, stays):
    story = with_stage(6).did(0, "safe-fall", "111").happened(3, "pain", place=place)
    state = story.read(3).state

    def left_out(drill):
        allowed = allowed_at_start(LADDER.drills[drill], state, LADDER, MAT)
        return allowed.support is None and allowed.causes == ("pain",)

    assert [drill for drill in out.split() if not left_out(drill)] == []
    assert [drill for drill in stays.split() if left_out(drill)] == []


def test_a_sore_wrist_stays_out_until_it_is_said_to_be_gone():
    story = with_stage(6).happened(3, "pain", place="wrist")
    assert story.allowed(3, "handspring") is None
    assert story.allowed(10, "handspring") is None
    assert asked_about(story.read(3).state, LADDER) == {}
    assert asked_about(story.read(10).state, LADDER) == {"wrist": day(3)}
    story.happened(10, "pain-gone", place="wrist")
    assert story.allowed(10, "handspring") == "hands-on"
    assert story.allowed(11, "handspring") == "hands-on"
    assert asked_about(story.read(11).state, LADDER) == {}


def test_each_place_is_asked_about_by_itself():
    story = with_stage(6).happened(3, "pain", place="wrist").happened(3, "pain", place="elbow")
    story.happened(10, "pain-gone", place="wrist")
    assert story.allowed(10, "handspring") is None
    assert asked_about(story.read(10).state, LADDER) == {"elbow": day(3)}


@pytest.mark.parametrize("first", ["pain", "pain-gone"])
def test_what_hurts_today_stays_out_whichever_of_both_was_said_first(first):
    second = "pain-gone" if first == "pain" else "pain"
    story = with_stage(6).happened(3, "pain", place="wrist")
    story.happened(40, first, place="wrist").happened(40, second, place="wrist")
    assert story.allowed(40, "handspring") is None
    assert story.allowed(41, "handspring") is None


def test_still_there_a_week_later_is_a_pause():
    story = with_stage(6).happened(3, "pain", place="wrist").happened(10, "pain", place="wrist")
    assert story.state(10, "6") == "paused"
    story.happened(17, "lift", director=True)
    assert asked_about(story.read(18).state, LADDER) == {}


def test_without_the_question_a_sore_place_is_out_for_its_day_only():
    content = copy.deepcopy(CONTENT)
    del content["pain_rule"]["ask"]
    story = Story(Ladder.from_content(content)).happened(-1, "place", stage="6", surface=MAT)
    story.happened(3, "pain", place="wrist")
    assert story.allowed(3, "handspring") is None
    assert story.allowed(4, "handspring") == "hands-on"


def test_what_hurt_under_a_ladder_that_does_not_ask_is_not_asked_about_by_a_later_one():
    content = copy.deepcopy(CONTENT)
    del content["pain_rule"]["ask"]
    older = Ladder.from_content(content)
    story = with_stage(6).happened(3, "pain", place="wrist")
    evidence = Evidence(())
    state = replay(evidence, story.events, day(9), lambda on: older if on < day(5) else LADDER)
    assert asked_about(state, LADDER) == {}


@pytest.mark.parametrize(("gap", "state"), [(21, "paused"), (22, "open")])
def test_the_same_place_twice_in_21_days_pauses(gap, state):
    story = with_stage(6).did(1, "handspring", "1").did(20, "handspring", "1")
    story.happened(3, "pain", place="wrist").happened(3 + gap, "pain", place="wrist")
    assert story.state(3 + gap, "6") == state


def test_two_places_do_not_pause():
    story = with_stage(6).happened(3, "pain", place="wrist").happened(5, "pain", place="ankle")
    assert story.state(5, "6") == "open"


@pytest.mark.parametrize(("gap", "state"), [(0, "open"), (1, "paused")])
def test_twice_on_one_day_is_once_and_on_the_next_day_is_twice(gap, state):
    story = (
        with_stage(6).happened(3, "pain", place="wrist").happened(3 + gap, "pain", place="wrist")
    )
    assert story.state(3 + gap, "6") == state
    assert story.state(4 + gap, "6") == state
