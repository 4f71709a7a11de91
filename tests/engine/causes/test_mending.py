"""The drills that are offered for a cause."""

import pytest

from readiness.engine.causes.mending import is_steady, mending_drills
from readiness.engine.causes.roots import causes
from readiness.engine.evidence import Evidence
from readiness.engine.tallies import tally_turns
from tests.support.engine.records import LADDER, Story, day, with_stage

SKILL, SIT = "handspring", "hips-over-feet"


def offered(story, number=30, today=()):
    first = causes(story.turns, SKILL, day(number), LADDER).first
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    return mending_drills(first, SKILL, story.read(number).state, evidence, LADDER, today)


def misses(story, fault=SIT, number=29):
    return story.did(number, SKILL, "00000000", support=1, faults=(fault,))


def test_in_the_ladders_order_while_none_has_been_done():
    assert LADDER.faults[SIT].mend[:2] == ("sit-depth", "sit-fall")
    # The fall onto the slope wants three clean safe falls first.
    story = misses(with_stage(6).did(3, "safe-fall", "111"))
    assert offered(story)[:2] == ["sit-depth", "sit-fall"]
    assert "sit-fall" not in offered(misses(with_stage(6)))


def test_the_least_done_lately_comes_first():
    story = misses(with_stage(6)).did(3, "sit-depth", [1]).did(10, "sit-depth", [1])
    assert offered(story)[-1] == "sit-depth"
    # Of 28 days, the day of the reading with them: older ones do not count.
    assert offered(story, 38)[0] == "sit-depth"


def test_what_is_not_open_is_not_offered():
    assert "jump-back" in LADDER.faults[SIT].mend
    assert "jump-back" not in offered(misses(with_stage(3)))
    assert "jump-back" in offered(misses(with_stage(6)))


def test_what_hurts_or_a_pause_takes_away():
    assert offered(misses(with_stage(6)).happened(30, "pause")) == []
    ankle = misses(with_stage(6)).happened(30, "pain", place="ankle")
    assert "jump-back" not in offered(ankle)


def test_after_what_ends_all_that_goes_backward_nothing_backward_is_offered():
    story = misses(with_stage(6))
    assert "jump-back" in offered(story)
    story.did(30, "barrel", "0", faults=("head-touches",))
    today = [turn for turn in story.turns if turn.day == day(30)]
    assert "jump-back" not in offered(story, today=today)


def test_what_is_steady_already_is_not_offered():
    story = misses(with_stage(6))
    for number in range(1, 29, 4):
        story.did(number, "jump-back", "111", support=3)
    assert "jump-back" not in offered(story)


@pytest.mark.parametrize(("values", "steady"), [([3, 3], True), ([2, 3], False), ([], False)])
def test_a_grade_is_steady_when_every_gate_that_asks_for_it_is_met(values, steady):
    # The highest that a gate asks is 3, on two days of the last 90; the day's second best counts.
    story = Story()
    for at, value in enumerate(values):
        story.did(10 + at, "sit-depth", [value, value])
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    assert is_steady(LADDER.drills["sit-depth"], evidence, day(30), LADDER) is steady
