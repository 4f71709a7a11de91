"""A child who grows fast. The rule is common practice, no source; a studio sets its own weeks."""

import copy

import pytest

from readiness.engine import day_start
from readiness.engine.evidence import Evidence
from readiness.engine.growing import is_growing
from readiness.engine.ladder import Ladder
from tests.support.engine.records import CONTENT, LADDER, Story, day, unspotted_walkover, with_stage

WALKOVER = "back-walkover"


def causes(story, number, drill=WALKOVER):
    return story.read(number).allowed(drill, "sprung-dance-floor").causes


def steady_walkover():
    """Signed, and held on the first turn of each day."""
    story = unspotted_walkover()
    return story.did(35, WALKOVER, "111", support=1).did(36, WALKOVER, "111", support=1)


def test_the_first_turn_of_the_day_has_one_step_more_and_the_next_not():
    story = steady_walkover().happened(37, "growing")
    assert steady_walkover().allowed(37, WALKOVER) == "standing-by"
    assert story.allowed(37, WALKOVER) == "light-touch"
    assert causes(story, 37)[-1] == "growing"
    story.did(37, WALKOVER, "1", support=1)
    assert story.allowed(37, WALKOVER) != "light-touch"
    assert "growing" not in causes(story, 37)


def test_hands_on_stays_hands_on_and_what_is_not_taught_by_hand_stays_as_it_is():
    story = with_stage(6).happened(1, "growing")
    assert story.allowed(1, "handspring") == "hands-on"
    assert "growing" not in causes(story, 1, "handspring")
    assert story.allowed(1, "kick-to-handstand") == "unspotted"


@pytest.mark.parametrize(("number", "grows"), [(36, False), (37, True), (92, True), (93, False)])
def test_it_lasts_for_eight_weeks_from_the_day_it_is_told(number, grows):
    story = steady_walkover().happened(37, "growing")
    assert is_growing(story.read(number).state, LADDER) is grows


def test_told_again_it_goes_on_as_it_was_and_after_its_end_it_begins_anew():
    story = steady_walkover().happened(37, "growing").happened(60, "growing")
    assert story.read(92).state.growing_since == day(37)
    assert not is_growing(story.read(93).state, LADDER)
    story.happened(100, "growing")
    assert is_growing(story.read(100).state, LADDER)


def test_ended_by_a_coach_it_is_over_from_the_next_day():
    story = steady_walkover().happened(37, "growing").happened(44, "growing-over")
    assert is_growing(story.read(44).state, LADDER)
    assert not is_growing(story.read(45).state, LADDER)


def bridge_line(story, number):
    stage = story.read(number).stage("3")
    return next(gate for gate in stage.gates if gate.gate.code == "3.bridge-line")


def test_the_bridge_line_counts_only_days_from_the_tap_on_while_it_lasts():
    story = with_stage(2)
    for number in (1, 8):
        story.did(number, "bridge-line", [3, 3])
    assert bridge_line(story, 9).met
    story.happened(15, "growing")
    assert not bridge_line(story, 15).met
    assert bridge_line(story, 15).value == 0
    story.did(15, "bridge-line", [3, 3])
    assert bridge_line(story, 22).days == (day(15),)
    # Once it is over, all days of the gate's own window count again.
    assert bridge_line(story, 15 + 56).met


def test_no_stage_opens_by_days_before_the_tap_until_it_is_over():
    content = copy.deepcopy(CONTENT)
    content["growing"]["drill"] = "hollow-hold"
    story = Story(Ladder.from_content(content))
    for number in (0, 7):
        story.did(number, "hollow-hold", [15]).did(number, "arch-hold", [15])
        story.did(number, "front-support", [20]).did(number, "wall-handstand", [10])
        story.did(number, "name-the-shape", [5])
    story.did(7, "safe-fall", "111")
    assert story.state(8, "2") == "open"
    story.happened(7, "growing")
    assert story.state(8, "2") == "closed"
    assert story.state(7 + 56, "2") == "closed"
    assert story.state(7 + 57, "2") == "open"


def test_a_tablet_is_told_of_drills_taught_by_hand_alone():
    story = with_stage(2).happened(15, "growing")

    def start(number, drill):
        about = LADDER.drills[drill], story.read(number).state, Evidence(), LADDER
        return day_start.support_start(*about)

    assert start(14, "kick-over-block")["growing"] is False
    assert start(15, "kick-over-block")["growing"] is True
    assert "growing" not in start(15, "free-handstand")


def test_a_ladder_without_the_rule_reads_as_before():
    content = copy.deepcopy(CONTENT)
    del content["growing"]
    without = Ladder.from_content(content)

    def told(*events):
        story = Story(without)
        story.events, story.turns = [*steady_walkover().events], steady_walkover().turns
        for event in events:
            story.happened(37, event)
        return story.read(37)

    assert told("growing").stages == told().stages
    assert told("growing").support == told().support
