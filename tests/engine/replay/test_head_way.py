"""After a head knock: which drills are open, what the hands do, and what is decided meanwhile.

Which drill at which step is common practice, no source; the days and their sources are in
tests/engine/test_head_steps.py.
"""

import copy
import datetime
import random

import pytest

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.reading import PAUSED
from readiness.engine.replay.checkpoint import as_data, from_data, make_checkpoint
from readiness.engine.replay.days import replay
from readiness.engine.support import allowed_at_start
from readiness.engine.tallies import tally_turns
from tests.support.engine.records import (
    CONTENT,
    LADDER,
    MAT,
    Story,
    day,
    shuffled,
    unspotted_walkover,
    with_stage,
)

WALKOVER = "back-walkover"


def knocked(number: int = 35, ladder: Ladder = LADDER) -> Story:
    return unspotted_walkover(ladder=ladder).happened(number, "head-knock")


def given(story: Story, number: int, *steps: int) -> Story:
    """Steps given day after day, each on the family's word of that day."""
    for at, step in enumerate(steps):
        story.happened(number + at, "head-step", step=step, on=day(number + at))
    return story


def at_step_5(ladder: Ladder = LADDER) -> Story:
    """A knock on day 35; step 5 counts from day 53 on."""
    story = given(knocked(ladder=ladder), 36, 1, 2, 3)
    return given(story.happened(40, "head-clearance"), 51, 4, 5)


def may(story: Story, number: int, drill: str) -> bool:
    state, rules = story.read(number).state, story.ladder
    return allowed_at_start(rules.drills[drill], state, rules, MAT).support is not None


def causes(story: Story, number: int, drill: str) -> tuple[str, ...]:
    state = story.read(number).state
    return allowed_at_start(LADDER.drills[drill], state, LADDER, MAT).causes


def test_on_the_day_of_the_knock_everything_is_closed_at_once():
    assert may(unspotted_walkover(), 35, "hollow-hold")
    assert not any(may(knocked(), 35, drill) for drill in LADDER.drills)
    assert causes(knocked(), 35, "hollow-hold") == ("after-head",)


@pytest.mark.parametrize(
    ("number", "open_then"),
    [
        (38, []),
        (39, ["hollow-hold"]),
        (51, ["hollow-hold"]),
        (52, ["hollow-hold", "bridge-hold"]),
        (53, ["hollow-hold", "bridge-hold", "kick-over-block"]),
    ],
)
def test_a_step_opens_its_drills_from_the_next_day_on(number, open_then):
    drills = ["hollow-hold", "bridge-hold", "kick-over-block", WALKOVER]
    assert [drill for drill in drills if may(at_step_5(), number, drill)] == open_then


def test_at_step_6_the_skill_is_hands_on_again_and_goes_the_way_back():
    story = given(at_step_5(), 56, 6)
    assert not may(story, 56, WALKOVER)
    assert story.allowed(57, WALKOVER) == "hands-on"
    assert story.read(57).allowed(WALKOVER, MAT).causes[0] == "head-knock"
    story.did(57, WALKOVER, "111", support=3)
    assert story.allowed(58, WALKOVER) == "light-touch"


def test_at_step_5_a_lead_up_stays_hands_on_whatever_it_had():
    before = with_stage(3)
    for number in (0, 7, 14, 21, 28):
        before.did(number, "kick-over-block", "1111", support=1)
    assert before.allowed(35, "kick-over-block") != "hands-on"
    story = given(before.happened(35, "head-knock"), 36, 1, 2, 3)
    given(story.happened(40, "head-clearance"), 51, 4, 5)
    assert story.allowed(53, "kick-over-block") == "hands-on"
    story.did(53, "kick-over-block", "1111", support=3)
    assert story.allowed(54, "kick-over-block") == "hands-on"


def test_a_symptom_counts_at_once():
    assert may(at_step_5(), 53, "bridge-hold")
    story = at_step_5().happened(53, "head-symptom")
    assert not may(story, 53, "bridge-hold")
    assert may(story, 53, "hollow-hold")


def test_meanwhile_no_stage_is_open_for_a_decision_and_no_step_is_due():
    story = at_step_5()
    states = {stage.state for stage in story.read(53).stages if stage.opening}
    assert states == {PAUSED}
    assert story.read(53).is_held
    assert story.read(53).taps == ()
    assert not given(story, 56, 6).read(57).is_held


def test_a_pause_is_lifted_by_itself_and_the_steps_go_on():
    story = knocked().happened(35, "pain", place="head").happened(50, "lift", director=True)
    assert story.read(50).state.paused_since == day(35)
    assert story.read(51).state.paused_since is None
    assert not may(story, 51, "hollow-hold")


def test_a_ladder_from_before_waits_with_every_drill_for_the_last_step():
    content = copy.deepcopy(CONTENT)
    del content["head_knock"]
    for row in content["drill"]:
        del row["after_head"]
    earlier = Ladder.from_content(content)
    assert not any(may(at_step_5(earlier), 53, drill) for drill in earlier.drills)
    assert may(given(at_step_5(earlier), 56, 6), 57, "hollow-hold")


def test_a_changed_field_is_in_force_from_its_ladders_day_on():
    content = copy.deepcopy(CONTENT)
    next(row for row in content["drill"] if row["key"] == "hollow-hold")["after_head"] = 6
    later = at_step_5().under(53, Ladder.from_content(content))
    assert later.state.head_step == 5
    about = Ladder.from_content(content)
    drill = about.drills["hollow-hold"]
    assert allowed_at_start(drill, later.state, about, MAT).causes == ("after-head",)


def test_a_stricter_studio_waits_longer():
    content = copy.deepcopy(CONTENT)
    content["head_knock"] = {"clear_days": 21, "full_return_day": 28}
    assert at_step_5(Ladder.from_content(content)).read(53).state.head_step == 3


def test_a_checkpoint_keeps_the_way_and_the_order_of_arrival_is_nothing():
    story = given(at_step_5().happened(54, "head-symptom"), 55, 4)
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    whole = replay(evidence, story.events, day(60), lambda _: LADDER)
    for number in range(36, 60):
        early = [event for event in story.events if event.day < day(number)]
        at = replay(evidence, early, day(number), lambda _: LADDER)
        stored = make_checkpoint(1, len(early), at, evidence, LADDER)
        start = from_data(as_data(stored)).state
        events = shuffled(story.events, random.Random(number))
        again = replay(evidence, events, day(60), lambda _: LADDER, start)
        assert again.head == whole.head
    assert whole.head.step == 3
    assert whole.head.given_at.tzinfo == datetime.UTC
