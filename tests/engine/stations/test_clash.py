"""Why an evening cannot be planned, and that each remedy is one."""

from dataclasses import replace

import pytest

from readiness.engine.stations.clash import freed
from readiness.engine.stations.plan import Clash, Fix, Plan
from readiness.engine.stations.planner import plan
from readiness.engine.stations.problem import Adult, At, Child, Hall, Post, Problem, Station, Work
from tests.support.engine.plan_checker import broken_rules
from tests.support.engine.station_evenings import Size, evening, varied

ROOM = Station("rocks", "rocks", at_once=2, seconds=60)
BESIDE = Station("bridge", "bridge", at_once=8, seconds=20, adult="station")
HELD = Station("over", "over", at_once=1, seconds=40, spotters=2, adult="hands")
ADULT = Adult(1)


def evening_of(children, stations, adults=(ADULT,), hall=None, rotations=1, **more):
    children = tuple(
        Child(number, tuple(Work(drill) for drill in works))
        for number, works in enumerate(children)
    )
    return Problem(children, stations, adults, hall or Hall(), rotations, 8, **more)


def least(problem):
    return plan(problem).remedies[0]


@pytest.mark.parametrize("seed", range(40))
def test_each_remedy_applied_makes_it_possible(seed):
    problem = varied(seed)
    found = plan(problem)
    if isinstance(found, Plan):
        problem = replace(problem, children=problem.children * 2, adults=problem.adults[:1])
        numbered = enumerate(problem.children)
        problem = replace(problem, children=tuple(replace(c, id=n) for n, c in numbered))
        found = plan(problem)
    if isinstance(found, Clash):
        assert found.known
        assert found.remedies
        for fixes in found.remedies:
            after = freed(problem, fixes)
            planned = plan(after, seconds=20)
            assert isinstance(planned, Plan), fixes
            assert not broken_rules(after, planned)


def test_of_a_remedy_no_part_can_be_left_out():
    for seed in range(40):
        problem = varied(seed)
        found = plan(problem)
        for fixes in found.remedies if isinstance(found, Clash) else ():
            for part in fixes:
                less = [replace(part, amount=part.amount - 1)] if part.amount > 1 else []
                others = [each for each in fixes if each is not part]
                assert isinstance(plan(freed(problem, [*others, *less])), Clash)


def test_places_are_missing():
    # Two at once, a minute each: four children wait two minutes, six need one place more.
    assert least(evening_of([["rocks"]] * 6, (ROOM,))) == (Fix("at-once", 1, "rocks"),)
    assert least(evening_of([["rocks"]] * 7, (ROOM,))) == (Fix("at-once", 2, "rocks"),)


def test_spotters_are_missing():
    one = Adult(1, frozenset({"over"}))
    problem = evening_of([["over"]], (HELD,), (one,))
    locked = replace(problem, locked=frozenset({At(0, "over", 0)}))
    no_work = replace(problem.children[0], works=(Work("over", 0, 2),))
    assert least(replace(locked, children=(no_work,)))[0].kind in {"spotter", "lock"}
    assert least(replace(problem, children=(no_work,))) == (Fix("spotter", 1, "over"),)


def test_an_adult_is_missing():
    assert least(evening_of([["bridge"]], (BESIDE,), ())) == (Fix("adult", 1),)
    two = (BESIDE, replace(BESIDE, key="kick", drill="kick"))
    assert least(evening_of([["bridge"], ["kick"]], two)) == (Fix("adult", 1),)


def test_equipment_and_places_in_the_hall_are_missing():
    mats = replace(ROOM, equipment={"mat": 3}, wall=1)
    hall = Hall({"mat": 1}, wall=(5,))
    assert least(evening_of([["rocks"]], (mats,), hall=hall)) == (Fix("equipment", 2, "mat"),)
    assert least(evening_of([["rocks"]], (replace(mats, equipment={}),))) == (Fix("wall", 1),)
    assert least(evening_of([["rocks"]], (replace(ROOM, floor=2),))) == (Fix("floor", 2),)


def test_what_the_coach_settled_is_in_the_way():
    stations = (ROOM, BESIDE)
    problem = evening_of([["rocks", "bridge"]], stations)
    both = frozenset({At(0, "rocks", 0), At(0, "bridge", 0)})
    fixes = [fixes for fixes in plan(replace(problem, locked=both)).remedies if len(fixes) == 1]
    assert {fixes[0].kind for fixes in fixes} == {"lock"}
    banned = replace(problem, banned=both)
    assert least(banned)[0].kind == "ban"
    away = replace(problem, locked=frozenset({Post(1, "rocks", 0)}))
    assert least(away) == (Fix("lock", settled=Post(1, "rocks", 0)),)


def test_nothing_is_set_up_for_a_child():
    problem = evening_of([["rocks"], []], (ROOM,), rotations=3)
    assert least(problem) == (Fix("no-station", person=1),)


def test_a_clash_of_a_class_is_told_in_time():
    problem = evening(Size(24, 9, 6, 4), 1)
    nothing = replace(problem, stations=problem.stations[:3])
    assert isinstance(plan(nothing), Clash)
