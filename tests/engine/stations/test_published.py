"""Published problems of assignment, solved by the planner and by the programme under it."""

import itertools

import pytest

from readiness.engine.stations.planner import plan
from readiness.engine.stations.problem import Adult, Child, Hall, Problem, Station, Work
from readiness.engine.stations.programme import Infeasible, Programme

# Generalised assignment, instance P03 of Martello and Toth, Knapsack Problems (1990), as in
# J. Burkardt's collection (people.sc.fsu.edu/~jburkardt/datasets/generalized_assignment).
P03_PROFIT = """27 12 12 16 24 31 41 13/14 5 37 9 36 25 1 34/34 34 20 9 19 19 3 34"""
P03_WEIGHT = """21 13 9 5 7 15 5 24/20 8 18 25 6 6 9 6/16 16 18 24 11 11 16 18"""
P03_CAPACITY = [26, 25, 34]
# OR-Library, gap1, c515-1 (people.brunel.ac.uk/~mastjjb/jeb/orlib/gapinfo.html).
C515_COST = """17 21 22 18 24 15 20 18 19 18 16 22 24 24 16/23 16 21 16 17 16 19 25 18 21 17 15
25 17 24/16 20 16 25 24 16 17 19 19 18 20 16 17 21 24/19 19 22 22 20 16 19 17 21 19 25 23 25 25
25/18 19 15 15 21 25 16 16 23 15 22 17 19 22 24"""
C515_USE = """8 15 14 23 8 16 8 25 9 17 25 15 10 8 24/15 7 23 22 11 11 12 10 17 16 7 16 10 18
22/21 20 6 22 24 10 24 9 21 14 11 14 11 19 16/20 11 8 14 9 5 6 19 19 7 6 6 13 9 18/8 13 13 13
10 20 25 16 16 17 10 10 5 12 23"""
C515_CAPACITY = [36, 34, 38, 27, 33]


def table(text):
    return [[int(number) for number in row.split()] for row in text.split("/")]


def as_evening(worth, use, capacity):
    """Agents as stations with so many places of a turn each, jobs as children with held turns."""
    stations = tuple(Station(f"a{a}", f"a{a}", room, 60) for a, room in enumerate(capacity))
    children = tuple(
        Child(job, tuple(Work(f"a{a}", worth[a][job], turns=use[a][job]) for a in range(len(use))))
        for job in range(len(use[0]))
    )
    return Problem(children, stations, (Adult(0),), Hall(), rotations=1, minutes=1)


def test_p03_has_its_only_optimum():
    found = plan(as_evening(table(P03_PROFIT), table(P03_WEIGHT), P03_CAPACITY))
    assert (found.worth, found.proven_best) == (232, True)
    where = {each.child: int(each.station[1:]) + 1 for each in found.at}
    assert [where[job] for job in range(8)] == [3, 3, 1, 1, 2, 2, 1, 2]


def test_c515_1_has_its_maximum_and_its_minimum():
    cost, use = table(C515_COST), table(C515_USE)
    most = plan(as_evening(cost, use, C515_CAPACITY))
    assert (most.worth, most.proven_best) == (336, True)
    least = plan(as_evening([[100 - each for each in row] for row in cost], use, C515_CAPACITY))
    assert (15 * 100 - least.worth, least.proven_best) == (261, True)


# --- groups in which no two meet twice ----------------------------------------------------


def no_repeats(groups, size, rounds):
    """Rounds of groups in which no two meet twice; the first is said, and who is in which group of
    the others' first ``size`` too, as far as it is free. Infeasible: there are none."""
    programme = Programme()
    people = range(groups * size)
    blocks = list(itertools.combinations(people, size))
    first = {tuple(people[start : start + size]) for start in range(0, len(people), size)}
    chosen = {}
    for block in blocks:
        if not any(len(set(block) & set(other)) > 1 for other in first):
            for round_ in range(1, rounds):
                # Who was in the first group is in the group of the same number ever after.
                chosen[block, round_] = programme.variable(1)
    for round_ in range(1, rounds):
        for person in people:
            there = [(v, 1) for (b, r), v in chosen.items() if r == round_ and person in b]
            programme.row(there, 1, 1)
    for pair in itertools.combinations(people, 2):
        together = [(v, 1) for (b, _), v in chosen.items() if set(pair) <= set(b)]
        programme.row(together, most=1)
    # The rounds are in order of whom the first person meets: they are alike otherwise.
    partner = {key: (max(key[0]) if 0 in key[0] else 0) for key in chosen}
    for round_ in range(1, rounds - 1):
        earlier = [
            (v, -partner[key]) for key, v in chosen.items() if key[1] == round_ and partner[key]
        ]
        later = [
            (v, partner[key]) for key, v in chosen.items() if key[1] == round_ + 1 and partner[key]
        ]
        programme.row([*earlier, *later], 1)
    values = programme.solve(seconds=300).values
    return [first] + [
        {block for (block, r), variable in chosen.items() if r == round_ and values[variable]}
        for round_ in range(1, rounds)
    ]


# Most rounds for groups x size: the table of the social golfer problem at
# cs.brown.edu/people/sello/golf.html. The last two take some seconds.
ROUNDS = [(2, 2, 3), (3, 2, 5), (4, 2, 7), (3, 3, 4), (4, 4, 5), (4, 3, 4), (5, 3, 7)]


@pytest.mark.parametrize(("groups", "size", "most"), ROUNDS)
def test_as_many_rounds_without_a_repeat_as_published(groups, size, most):
    rounds = no_repeats(groups, size, most)
    met = [pair for each in rounds for group in each for pair in itertools.combinations(group, 2)]
    assert len(rounds) == most
    assert len(met) == len(set(met)) == most * groups * size * (size - 1) // 2
    with pytest.raises(Infeasible):
        no_repeats(groups, size, most + 1)
