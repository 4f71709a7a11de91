"""From an evening to its plan."""

from collections.abc import Mapping

from readiness.engine.stations.clash import why_not
from readiness.engine.stations.model import Model
from readiness.engine.stations.plan import Clash, Plan
from readiness.engine.stations.problem import At, Post, Problem
from readiness.engine.stations.programme import Infeasible, OutOfTime
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
    found = model.programme.solve(gap=gap, seconds=seconds, begin=begin)
    at = [each for each, variable in model.at.items() if found.values[variable]]
    posts = [each for each, variable in model.post.items() if found.values[variable]]
    used = {each.station for each in at}
    return Plan(
        at=tuple(sorted(at, key=lambda each: (each.rotation, each.station, each.child))),
        posts=tuple(sorted(posts, key=lambda each: (each.rotation, each.station, each.adult))),
        places=_places(model.problem, used),
        worth=_worth(model, at),
        bound=found.bound,
    )


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
