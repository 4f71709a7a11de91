"""From an evening to its plan."""

import math
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace

from readiness.engine.stations.clash import why_not
from readiness.engine.stations.model import Model
from readiness.engine.stations.plan import Clash, Plan
from readiness.engine.stations.problem import At, Post, Problem
from readiness.engine.stations.programme import Infeasible, OutOfTime, Solution
from readiness.engine.stations.rules import build


def plan(
    problem: Problem, near: Plan | None = None, *, gap: float = 0.0, seconds: float = 2.0
) -> Plan | Clash:
    """The best plan, by worth and then by the wishes, each of which weighs as much as a single
    point of worth: one landing on the hands less, one child or adult where ``near`` has her.

    near: an earlier plan (last week's, or tonight's before a change), where the search begins.
    gap: the share by which the plan may be from the best, 0 to 1.
    seconds: the longest search; after it the best plan found is taken.
    """
    wished: list[At | Post] = [*near.at, *near.posts] if near else []
    try:
        return _best(build(problem, near=wished), gap, seconds)
    except Infeasible:
        return why_not(problem, seconds)
    except OutOfTime:
        return Clash((), known=False)


def _best(model: Model, gap: float, seconds: float) -> Plan:
    variables = (*model.at.items(), *model.post.items())
    begin = {variable: 1 for each, variable in variables if each in model.near}
    found = _found(model, begin, gap, seconds)
    at = [each for each, variable in model.at.items() if found.values[variable]]
    posts = [each for each, variable in model.post.items() if found.values[variable]]
    worth = _worth(model, at)
    return Plan(
        at=tuple(sorted(at, key=lambda each: (each.rotation, each.station, each.child))),
        posts=tuple(sorted(posts, key=lambda each: (each.rotation, each.station, each.adult))),
        places=_places(model.problem, {each.station for each in at}),
        worth=worth,
        bound=_missing(found) / max(1, worth),
    )


def _found(model: Model, begin: Mapping[int, int], gap: float, seconds: float) -> Solution:
    """First what is set up and open in which rotation, as if children and adults could be parted;
    then who is where. Where that is not as good as it promised, all at once, from there on."""
    solve = model.programme.solve
    promised, found = math.inf, None
    if model.frame:
        # OutOfTime here says nothing of the whole.
        with suppress(OutOfTime):
            rough = solve(gap=gap, seconds=seconds / 2, begin=begin, whole=model.frame)
            promised = rough.best
            fixed = {variable: rough.values[variable] for variable in model.frame}
            with suppress(Infeasible):
                found = solve(gap=gap, seconds=seconds / 4, begin=begin, fixed=fixed)
    if found is not None:
        found = replace(found, best=promised)
        if _missing(found) <= gap * abs(found.total):
            return found
        begin = dict(enumerate(found.values))
    whole = solve(gap=gap, seconds=seconds / 4, begin=begin)
    return replace(whole, best=min(whole.best, promised))


def _missing(found: Solution) -> int:
    """How much better another may be: everything sought is in whole points."""
    return max(0, math.floor(found.best + 1e-6) - round(found.total))


def _worth(model: Model, at: list[At]) -> int:
    new = {(each.child, model.drill_of[each.station]) for each in at} - set(model.done_at)
    works = ((child.id, work) for child in model.problem.children for work in child.works)
    return sum(work.worth for child, work in works if (child, work.drill) in new)


def _places(
    problem: Problem, used: set[str]
) -> Mapping[str, tuple[tuple[int, ...], tuple[int, ...]]]:
    """Stations with no adult at them get the places that are seen best."""

    def best_first(seen: tuple[int, ...]) -> list[int]:
        return sorted(range(len(seen)), key=lambda place: -seen[place])

    wall, floor = best_first(problem.hall.wall), best_first(problem.hall.floor)
    places = {}
    for station in sorted(problem.stations, key=lambda each: (each.adults > 0, each.key)):
        if station.key in used:
            taken = tuple(wall[: station.wall]), tuple(floor[: station.floor])
            wall, floor = wall[station.wall :], floor[station.floor :]
            places[station.key] = taken
    return places
