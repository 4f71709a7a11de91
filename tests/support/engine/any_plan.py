"""A plan made by hand of an evening, to look at pages with: no solver, and not a good one."""

from readiness.engine.stations.plan import Plan
from readiness.engine.stations.problem import At, Post, Problem


def any_plan(problem: Problem, near: Plan | None = None) -> Plan:
    """Every child at an unheld station that is open to her, another one each time; the first adult
    stands beside the first of them."""
    unheld = [station for station in problem.stations if not station.spotters]
    locked = {
        (each.child, each.rotation): each.station for each in problem.locked if isinstance(each, At)
    }
    at = []
    for rotation in range(problem.start, problem.rotations):
        for number, child in enumerate(problem.children):
            if child.present is not None and rotation not in child.present:
                continue
            drills = {work.drill for work in child.works if not work.spotters}
            own = [station.key for station in unheld if station.drill in drills]
            station = locked.get((child.id, rotation), own[(number + rotation) % len(own)])
            at.append(At(child.id, station, rotation))
    posts = [Post(problem.adults[0].id, at[0].station, problem.start)] if at else []
    floor = range(len(problem.hall.floor))
    places = {each.key: ((), (number,)) for number, each in zip(floor, unheld, strict=False)}
    return Plan(tuple(at), tuple(posts), places, worth=0, bound=0.02)
