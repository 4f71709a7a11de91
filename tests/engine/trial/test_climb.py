"""The climb of a perfect child."""

import copy

from readiness.engine.ladder import Ladder
from readiness.engine.trial.climb import climb
from tests.support.engine.records import CONTENT, LADDER


def test_a_perfect_child_climbs_the_shipped_ladder():
    result = climb(LADDER)
    assert result.stuck == ()
    assert result.opened["1"] == 1
    assert result.opened["4"] <= result.opened["6"] < result.opened["8"] < result.opened["9"]


def test_a_ladder_with_a_step_that_is_never_given_cannot_be_climbed():
    content = copy.deepcopy(CONTENT)
    barrel = next(drill for drill in content["drill"] if drill["key"] == "barrel")
    barrel["allow"] = barrel["allow"][:1]
    assert climb(Ladder.from_content(content)).stuck[0] == "6"
