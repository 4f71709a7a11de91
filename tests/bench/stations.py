"""Evenings of stations for invented classes: how soon the plan is proven best, and what it serves
beside a coach's rule by hand.

By hand: rotation by rotation, each spotter who has not just lifted three times goes to the next
held station she may spot; its line is filled in order of what is missing; then everybody else goes
to the first station with a place where she has not been. Times are the processor's: one thread.
"""

from collections import Counter, defaultdict

from readiness.engine.stations.plan import Plan
from readiness.engine.stations.planner import plan
from readiness.engine.stations.problem import At, Post, Problem, Work
from tests.bench.measure import Limit, Options, Result, processor_ms, spread
from tests.support.engine.plan_checker import broken_rules
from tests.support.engine.station_evenings import Size, evening

SMALL = Size(children=24, stations=9, rotations=6, spotters=4)
LARGE = Size(children=60, stations=14, rotations=8, spotters=8)
CLASSES = 200
LARGE_CLASSES = 30
# A work of such worth is an unmet gate, the way back or a cause.
MISSING = 60


def run(options: Options) -> Result:
    small = _planned(SMALL, CLASSES, gap=0.0, seconds=20)
    large = _planned(LARGE, CLASSES if options.full else LARGE_CLASSES, gap=0.01, seconds=10)
    broken = sum(bool(broken_rules(problem, found)) for problem, found, _ in [*small, *large])
    hand = [by_hand(problem) for problem, _, _ in small]
    served = [
        (_served(problem, found.at), _served(problem, at))
        for (problem, found, _), (at, _) in zip(small, hand, strict=True)
    ]
    idle = [
        (_idle(problem, found.posts), _idle(problem, posts))
        for (problem, found, _), (_, posts) in zip(small, hand, strict=True)
    ]
    times = spread("24 children, time", [time for _, _, time in small])
    bounds = spread("60 children, from the best", [100 * f.bound for _, f, _ in large], "%")
    large_times = spread("60 children, time", [time for _, _, time in large])
    spreads = [
        times,
        large_times,
        bounds,
        spread("what is missing, served by the plan", [float(plan) for plan, _ in served], ""),
        spread("the same by hand", [float(hand) for _, hand in served], ""),
        spread("spotters' rotations without a post, plan", [float(plan) for plan, _ in idle], ""),
        spread("the same by hand", [float(hand) for _, hand in idle], ""),
    ]
    limits = [
        Limit("24 children, median, in seconds", times.median / 1000, 0.5),
        Limit("24 children, 95 %, in seconds", times.p95 / 1000, 3),
        Limit("24 children, not proven best", sum(f.bound > 0 for _, f, _ in small), 0),
        Limit("60 children, median, in seconds", large_times.median / 1000, 5),
        Limit("60 children, median from the best", bounds.median / 100, 0.01),
        Limit("plans that break a rule", broken, 0),
    ]
    alone = sum(len(problem.children) * problem.rotations - len(at)
                for (problem, _, _), (at, _) in zip(small, hand, strict=True))  # fmt: skip
    about = {
        "classes": f"{len(small)} and {len(large)}",
        "children without a place by hand": f"{alone} in all",
    }
    return Result("stations", about, spreads, limits)


def _planned(
    size: Size, classes: int, gap: float, seconds: float
) -> list[tuple[Problem, Plan, float]]:
    """So many classes that can be planned, with the time that each took in milliseconds."""
    planned: list[tuple[Problem, Plan, float]] = []
    seed = 0
    while len(planned) < classes:
        problem, found = evening(size, seed), []
        seed += 1
        took = processor_ms(lambda p=problem, f=found: f.append(plan(p, gap=gap, seconds=seconds)))
        if isinstance(found[0], Plan):
            planned.append((problem, found[0], took))
    return planned


def by_hand(problem: Problem) -> tuple[list[At], list[Post]]:
    """Only equipment and places in the hall are not looked at."""
    at: list[At] = []
    posts: list[Post] = []
    been: dict[int, Counter[str]] = defaultdict(Counter)
    lifted: Counter[int] = Counter()
    for rotation in range(problem.rotations):
        free = {child.id: {work.drill: work for work in child.works} for child in problem.children}
        resting = {adult for adult, times in lifted.items() if times == 3}
        lifted = Counter({adult: n for adult, n in lifted.items() if adult not in resting})
        adults = [adult for adult in problem.adults if adult.id not in resting]
        for station in sorted(problem.stations, key=lambda each: -each.spotters):
            able = [
                adult
                for adult in adults
                if (station.drill in adult.spots if station.spotters else adult.supervises)
            ][: station.adults]
            if len(able) < station.adults:
                continue
            room = problem.minutes * 60 * station.at_once // station.seconds
            line = [
                (child, works[station.drill])
                for child, works in free.items()
                if station.drill in works and not been[child][station.drill]
            ]
            if station.spotters:
                line.sort(key=lambda each: -each[1].worth)
            there = _that_fit(line, station.most, room)
            for child in there:
                at.append(At(child, station.key, rotation))
                been[child][station.drill] += 1
                del free[child]
            for adult in able if there else ():
                posts.append(Post(adult.id, station.key, rotation))
                adults.remove(adult)
                lifted[adult.id] += bool(station.spotters)
    return at, posts


def _that_fit(line: list[tuple[int, Work]], most: int, room: int) -> list[int]:
    there: list[int] = []
    for child, work in line:
        if len(there) < most and work.turns <= room:
            there.append(child)
            room -= work.turns
    return there


def _served(problem: Problem, at: list[At] | tuple[At, ...]) -> int:
    drill = {station.key: station.drill for station in problem.stations}
    visits = {(each.child, drill[each.station]) for each in at}
    works = ((child.id, work) for child in problem.children for work in child.works)
    return sum(work.worth >= MISSING and (child, work.drill) in visits for child, work in works)


def _idle(problem: Problem, posts: list[Post] | tuple[Post, ...]) -> int:
    return len(problem.adults) * problem.rotations - len(posts)
