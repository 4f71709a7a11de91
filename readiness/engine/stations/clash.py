"""Why an evening cannot be planned: which rules are in the way, and the least that would free it.

HiGHS names no clash of whole numbers by itself, so each kind of rule is given a price and freed as
little as can be: first each kind alone, then all together.
"""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import get_args

from readiness.engine.stations.plan import Clash, Fix, FixKind
from readiness.engine.stations.problem import Adult, Problem, Station, Work
from readiness.engine.stations.programme import Infeasible, OutOfTime
from readiness.engine.stations.rules import build

KINDS: tuple[FixKind, ...] = get_args(FixKind)


def why_not(problem: Problem, seconds: float) -> Clash:
    """seconds: the longest search for each kind. Of a problem that has no plan."""
    found, known = [], True
    for kind in KINDS:
        if kind != "no-station":
            try:
                found.append(least_freed(problem, [kind], seconds))
            except Infeasible:
                continue
            except OutOfTime:
                known = False
    if not found:
        try:
            found.append(least_freed(problem, KINDS, seconds))
        except (Infeasible, OutOfTime):
            known = False
    found.sort(key=lambda fixes: sum(fix.amount for fix in fixes))
    return Clash(tuple(found), known)


def least_freed(problem: Problem, kinds: Collection[FixKind], seconds: float) -> tuple[Fix, ...]:
    """Infeasible: these kinds are not enough. OutOfTime: it was not found."""
    model = build(problem, "freed", free=kinds)
    values = model.programme.solve(seconds=seconds).values
    amounts: Counter[Fix] = Counter()
    for variable, fix in model.fixes.items():
        amounts[fix] += values[variable]
    return tuple(replace(fix, amount=amount) for fix, amount in amounts.items() if amount)


def freed(problem: Problem, fixes: Sequence[Fix]) -> Problem:
    """The same evening with these fixes."""
    for fix in fixes:
        problem = _freed(problem, fix)
    return problem


def _freed(problem: Problem, fix: Fix) -> Problem:
    hall = problem.hall
    match fix.kind:
        case "spotter" | "adult":
            lowest = min((adult.id for adult in problem.adults), default=0)
            spots = frozenset({fix.key} if fix.key else ())
            new = (
                Adult(min(lowest, 0) - 1 - number, spots, supervises=fix.kind == "adult")
                for number in range(fix.amount)
            )
            return replace(problem, adults=(*problem.adults, *new))
        case "at-once":
            stations = tuple(
                replace(each, at_once=each.at_once + fix.amount) if each.key == fix.key else each
                for each in problem.stations
            )
            return replace(problem, stations=stations)
        case "equipment":
            more = {fix.key: hall.equipment.get(fix.key, 0) + fix.amount}
            return replace(problem, hall=replace(hall, equipment={**hall.equipment, **more}))
        case "wall":
            return replace(problem, hall=replace(hall, wall=(*hall.wall, *[0] * fix.amount)))
        case "floor":
            return replace(problem, hall=replace(hall, floor=(*hall.floor, *[0] * fix.amount)))
        case "lock":
            return replace(problem, locked=problem.locked - {fix.settled})
        case "ban":
            return replace(problem, banned=problem.banned - {fix.settled})
        case "split":
            return replace(
                problem,
                stations=tuple(
                    replace(each, second_of="") if each.second_of == fix.key else each
                    for each in problem.stations
                ),
            )
        case "no-station":
            return _with_station_for(problem, fix.person)


def _with_station_for(problem: Problem, person: int | None) -> Problem:
    key = f"for {person}"
    children = tuple(
        replace(each, works=(*each.works, Work(key))) if each.id == person else each
        for each in problem.children
    )
    station = Station(key, key, at_once=1, seconds=1)
    return replace(problem, children=children, stations=(*problem.stations, station))
