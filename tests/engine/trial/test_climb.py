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


def test_one_director_alone_does_not_get_a_child_to_unspotted():
    both = climb(LADDER)
    assert set(both.unspotted) >= {"back-walkover", "handspring", "two-handsprings"}
    assert climb(LADDER, (1,)).unspotted == ()


def test_without_the_gate_seen_by_two_the_climb_alone_says_where_the_hands_left():
    content = copy.deepcopy(CONTENT)
    for stage in content["stage"]:
        stage["gate"] = [gate for gate in stage.get("gate", []) if gate["code"] != "4.seen-by-two"]
    assert climb(Ladder.from_content(content), (1,)).unspotted == ("back-walkover",)
