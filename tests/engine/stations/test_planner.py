"""Plans are held against the checker (tests/support/engine/plan_checker.py) and, of small classes,
against all that there could be."""

import itertools
from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import pytest

from readiness.engine.stations import rules
from readiness.engine.stations.plan import Clash, Fix, Plan
from readiness.engine.stations.planner import plan
from readiness.engine.stations.problem import Adult, At, Child, Hall, Post, Problem, Station, Work
from tests.support.engine.plan_checker import broken_rules
from tests.support.engine.station_evenings import Size, evening, varied


@pytest.mark.parametrize("seed", range(40))
def test_every_plan_keeps_every_rule(seed):
    problem = varied(seed)
    found = plan(problem, seconds=20)
    assert isinstance(found, Clash) or (found.proven_best and not broken_rules(problem, found))


def test_about_half_of_these_evenings_can_be_planned():
    assert 15 < sum(isinstance(plan(varied(seed)), Plan) for seed in range(40)) < 30


def test_a_class_of_twenty_four_keeps_every_rule():
    problem = evening(Size(24, 9, 6, 4), 1)
    found = plan(problem, seconds=60)
    assert found.proven_best
    assert not broken_rules(problem, found)


# --- against all that there could be ----------------------------------------------------


def sought(problem, at):
    """Worth once a drill, a point for each landing, and nobody twice before anything else."""
    drills = {each.key: each for each in problem.stations}
    work = {(child.id, each.drill): each for child in problem.children for each in child.works}
    visits = {(each.child, drills[each.station].drill) for each in at}
    landings = sum(drills[each.station].landings for each in at)
    return sum(work[each].worth for each in visits) - landings - 1010 * (len(at) - len(visits))


def best_of_all(problem):
    """By going through every place of every child and every post of every adult."""
    rotations = range(problem.rotations)
    drills = {each.key: each.drill for each in problem.stations}
    choices = [
        [At(child.id, key, rotation) for key, drill in drills.items() if drill in mine]
        for child in problem.children
        for mine in [{work.drill for work in child.works}]
        for rotation in rotations
    ]
    posts = [
        [None, *(Post(adult.id, key, rotation) for key in drills)]
        for adult in problem.adults
        for rotation in rotations
    ]
    best = None
    for at in itertools.product(*choices):
        value = sought(problem, at)
        if best is not None and value <= best:
            continue
        for some in itertools.product(*posts):
            tried = SimpleNamespace(
                at=at, posts=[each for each in some if each], places={}, bound=1
            )
            if not broken_rules(problem, tried):
                best = value
                break
    return best


@pytest.mark.parametrize("seed", range(12))
def test_a_small_class_has_the_best_of_all_plans(seed):
    problem = evening(Size(children=3, stations=3, rotations=2, spotters=1, minutes=2), seed)
    found, best = plan(problem), best_of_all(problem)
    if best is None:
        assert isinstance(found, Clash)
    else:
        assert found.proven_best
        assert sought(problem, found.at) == best


# --- one by one ---------------------------------------------------------------------------

ROOM = Station("rocks", "rocks", at_once=8, seconds=20)
BESIDE = Station("bridge", "bridge", at_once=8, seconds=20, adult="station")
HELD = Station("over", "over", at_once=1, seconds=40, spotters=1, adult="hands")
OMAR = Adult(1, frozenset({"over"}))
NADIA = Adult(2)


def child(number, *works):
    return Child(number, (Work("rocks"), *works))


def evening_of(children, stations, adults, rotations=1, **more):
    return Problem(children, stations, adults, Hall(), rotations, 8, **more)


def test_the_only_adult_does_not_spot_while_a_station_needs_one_beside_it():
    children = (child(1, Work("over", 100, 1)), Child(2, (Work("bridge"),)))
    alone = evening_of(children, (ROOM, BESIDE, HELD), (OMAR,))
    assert plan(alone).worth == 0
    assert plan(replace(alone, adults=(OMAR, NADIA))).worth == 100


def one_held_in_each_of(rotations):
    """Four children, of whom a rotation has room for one, and one spotter."""
    children = tuple(child(number, Work("over", 100, 1)) for number in range(4))
    one_each = replace(HELD, seconds=120)
    return evening_of(children, (ROOM, one_each), (OMAR,), rotations)


def test_a_spotter_rests_after_three_rotations():
    problem = one_held_in_each_of(rotations=4)
    assert plan(problem).worth == 300
    assert plan(replace(problem, rotations=5)).worth == 400
    lifted = frozenset(Post(1, "over", rotation) for rotation in range(3))
    assert plan(replace(problem, start=3, done=lifted)).worth == 0


def test_held_turns_share_the_rotation():
    # Eight minutes of 40 seconds: 12 turns, and three children wait two minutes.
    def worth(*turns):
        works = (Work("over", 100, 1, None, many) for many in turns)
        children = tuple(child(number, work) for number, work in enumerate(works))
        return plan(evening_of(children, (ROOM, HELD), (OMAR,))).worth

    assert worth(6, 4, 2) == 300
    assert worth(6, 5, 2) == 200
    assert worth(2, 2, 2, 2) == 300
    assert worth(20) == 100


def test_a_drill_is_worth_nothing_more_once_it_was_done():
    shapes = replace(ROOM, key="shapes", drill="shapes")
    works = (Work("rocks", 100), Work("shapes", 5))
    problem = evening_of((Child(1, works),), (ROOM, shapes), (OMAR,), rotations=2)
    done = frozenset({At(1, "rocks", 0)})
    assert plan(replace(problem, start=1, done=done)).worth == 5
    assert plan(replace(problem, start=1, done=done, stations=(ROOM,))).worth == 0


def test_of_plans_as_good_the_one_nearer_to_the_earlier_is_taken():
    stations = (ROOM, replace(ROOM, key="shapes", drill="shapes"))
    children = tuple(Child(number, (Work("rocks"), Work("shapes"))) for number in range(6))
    problem = evening_of(children, stations, (OMAR,), rotations=2)
    earlier = Plan(tuple(At(n, ("rocks", "shapes")[n % 2], 0) for n in range(6)), (), {}, 0, 0)
    assert set(earlier.at) <= set(plan(problem, earlier).at)


def test_a_split_station_shares_its_children_evenly_with_a_spotter_at_each_place():
    children = tuple(child(number, Work("over", 100, 1)) for number in range(5))
    second = replace(HELD, key="over/2", second_of="over")
    problem = evening_of(children, (ROOM, HELD, second), (OMAR, replace(OMAR, id=3)))
    where = Counter(at.station for at in plan(problem).at)
    assert where == {"over": 3, "over/2": 2}
    alone = plan(replace(problem, adults=(OMAR,)))
    assert (Fix("spotter", 1, "over"),) in alone.remedies
    assert (Fix("split", 1, "over"),) in alone.remedies


def test_landings_are_kept_low():
    stations = (replace(ROOM, landings=1), replace(ROOM, key="shapes", drill="shapes"))
    problem = evening_of((Child(1, (Work("rocks"), Work("shapes"))),), stations, (OMAR,))
    assert [at.station for at in plan(problem).at] == ["shapes"]


def test_stations_with_no_adult_are_laid_where_they_are_seen_best():
    stations = tuple(replace(each, floor=1) for each in (BESIDE, ROOM))
    children = (child(1), Child(2, (Work("bridge"),)))
    problem = replace(evening_of(children, stations, (OMAR,)), hall=Hall(floor=(2, 9, 4)))
    assert plan(problem).places == {"rocks": ((), (1,)), "bridge": ((), (2,))}


def test_the_same_evening_has_the_same_plan():
    problem = evening(Size(10, 6, 4, 2), 3)
    assert plan(problem) == plan(problem)


# --- a rule left out is seen --------------------------------------------------------------

SEEN_BY = {
    "everybody_is_somewhere": "one-station",
    "nobody_is_twice_at_a_drill": "twice",
    "a_station_has_room": "turns",
    "adults_are_at_their_posts": "adults",
    "an_adult_is_in_the_room": "adult-in-room",
    "spotters_rest": "rest",
    "hands_are_spared": "hands",
    "first_turns_are_held": "first",
    "the_hall_has_it": "hall",
    "a_split_station_is_two": "split",
    "what_was_settled_stays": "settled",
}


@pytest.mark.parametrize("left_out", rules.RULES, ids=lambda rule: rule.__name__)
def test_a_rule_left_out_is_seen_by_the_checker(monkeypatch, left_out):
    monkeypatch.setattr(rules, "RULES", [rule for rule in rules.RULES if rule is not left_out])
    seen = set()
    for problem in [one_held_in_each_of(4), *map(varied, range(60))]:
        problem = replace(problem, banned=frozenset())
        found = plan(problem)
        if isinstance(found, Plan):
            seen |= broken_rules(problem, found)
        if SEEN_BY[left_out.__name__] in seen:
            return
    raise AssertionError(f"{left_out.__name__}: only {seen}")
