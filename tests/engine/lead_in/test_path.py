"""The years before the handspring, spread over terms. The rule is common practice, no source."""

from dataclasses import replace

import pytest

from readiness.engine.ladder import LeadInRule
from readiness.engine.lead_in.path import TERMS_A_YEAR, lead_in_path
from tests.support.engine.records import LADDER, Story, with_stage


def path(story, age, number=1):
    return lead_in_path(story.read(number), LADDER, age)


def asked(found):
    return [gate.gate.code for term in found.terms for gate in term]


def test_from_seven_on_for_three_years_as_the_shipped_ladder_says():
    assert LADDER.lead_in == LeadInRule(7, 3, "6")
    assert [path(Story(), age) is not None for age in (6, 7, 9, 10, 11)] == [
        False, True, True, False, False,
    ]  # fmt: skip
    assert path(Story(), None) is None


@pytest.mark.parametrize("age", [7, 8, 9])
def test_what_is_not_met_is_spread_evenly_over_the_terms_that_are_left(age):
    found = path(Story(), age)
    sizes = [len(term) for term in found.terms]
    assert len(sizes) == TERMS_A_YEAR * (10 - age)
    assert max(sizes) - min(sizes) <= 1
    assert sizes == sorted(sizes, reverse=True)


def test_it_is_every_gate_on_the_way_that_asks_for_no_skill_in_the_ladders_order():
    codes = asked(path(Story(), 7))
    on_the_way = [stage for stage in LADDER.stages if stage.code in ("2", "3", "4", "5", "6")]
    assert codes == [
        gate.code
        for stage in on_the_way
        for gate in stage.gates
        if not LADDER.drills[gate.drill].skill
    ]
    assert len(set(codes)) == len(codes)


def test_a_gate_that_is_met_leaves_the_path_and_is_counted():
    story = Story().did(0, "hollow-hold", [16]).did(1, "hollow-hold", [16])
    before, after = path(Story(), 8, 1), path(story, 8, 1)
    gone = set(asked(before)) - set(asked(after))
    assert len(gone) == 1
    assert after.met == before.met + 1


def test_the_gates_of_a_stage_that_is_open_are_behind_the_child():
    codes = asked(path(with_stage(3), 8))
    stage = {gate.code: stage.code for stage in LADDER.stages for gate in stage.gates}
    assert {stage[code] for code in codes} == {"4", "5", "6"}


def test_with_the_stage_open_there_is_no_path():
    assert path(with_stage(5), 8) is not None
    assert path(with_stage(6), 8) is None


def test_a_ladder_without_the_stage_has_no_path():
    ladder = replace(LADDER, lead_in=LeadInRule(stage="12"))
    assert lead_in_path(Story().read(1), ladder, 8) is None
