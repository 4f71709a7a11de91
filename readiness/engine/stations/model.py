"""The variables of an evening in a programme of whole numbers; its rules are in ``rules.py``.

``at``: a child is at a station in a rotation. ``post``: an adult is. ``opened``: a station that
needs adults is open in a rotation. ``again``: how often more than once a child is at a drill.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator
from typing import Literal

from readiness.engine.stations.plan import Fix, FixKind
from readiness.engine.stations.problem import Adult, At, Post, Problem, Station, Work
from readiness.engine.stations.programme import Programme

# What is sought: worth and the wishes, or as little freed as can be.
Aim = Literal["worth", "freed"]
# Wishes, in the unit of a work's worth.
A_LANDING = 1
AS_BEFORE = 1
# More than one move can bring: the highest worth and the wishes.
ONCE_MORE = 1010
# More than can be missing of anything.
ENOUGH = 60
# So many spotters for a drill, and adults, can be said to be missing.
NEWCOMERS = 2
# Beside one of anything else.
NO_STATION_COSTS = 10


class Model:
    """near: what is wished to stay as it is.

    free: the kinds of rules that may be freed when as little as can be is sought.
    """

    def __init__(
        self,
        problem: Problem,
        aim: Aim = "worth",
        near: Collection[At | Post] = (),
        free: Collection[FixKind] = (),
    ) -> None:
        self.problem, self.aim, self.near = problem, aim, frozenset(near)
        self.free = free
        self.programme = Programme()
        self.fixes: dict[int, Fix] = {}
        self.drill_of = {station.key: station.drill for station in problem.stations}
        self.done_at = Counter(
            (each.child, self.drill_of[each.station])
            for each in problem.done
            if isinstance(each, At)
        )
        self.newcomers = dict(self._newcomers())
        self.adults = [*problem.adults, *self.newcomers]
        self.at = dict(self._at())
        self.again = dict(self._again())
        self.post = dict(self._posts())
        self.opened = {
            (station.key, rotation): self.programme.variable()
            for station in problem.stations
            if station.adults
            for rotation in problem.rotations_of(station)
        }
        # Once these are known, who is where follows quickly.
        self.frame = {*self.opened.values()}
        self.by_child: dict[tuple[int, int], list[int]] = defaultdict(list)
        self.by_station: dict[tuple[str, int], list[tuple[int, int]]] = defaultdict(list)
        for each, variable in self.at.items():
            self.by_child[each.child, each.rotation].append(variable)
            self.by_station[each.station, each.rotation].append((each.child, variable))

    def slack(self, fix: Fix, most: int = 1) -> list[int]:
        """A variable for how far a rule is freed; none if it may not be."""
        if fix.kind not in self.free:
            return []
        variable = self.programme.variable(
            -1 if fix.kind != "no-station" else -NO_STATION_COSTS, most
        )
        self.fixes[variable] = fix
        return [variable]

    def _newcomers(self) -> Iterator[tuple[Adult, int]]:
        """Adults who are not here, with the variable that says that they are wanted."""
        held = sorted({each.drill for each in self.problem.stations if each.spotters})
        kinds: list[tuple[FixKind, str]] = [("spotter", drill) for drill in held]
        for kind, drill in [*kinds, ("adult", "")]:
            for _ in range(NEWCOMERS):
                for wanted in self.slack(Fix(kind, key=drill)):
                    spots = frozenset({drill} if drill else ())
                    yield Adult(-1 - wanted, spots, supervises=not drill), wanted

    def _at(self) -> Iterator[tuple[At, int]]:
        for child in self.problem.children:
            rotations = self.problem.rotations_of(child)
            for work in child.works:
                for station in self.problem.stations:
                    if not may_be_at(work, station):
                        continue
                    open_in = self.problem.rotations_of(station)
                    worth = work.worth - A_LANDING * station.landings
                    for at in (At(child.id, station.key, r) for r in rotations if r in open_in):
                        yield at, self._sought(at, worth)

    def _posts(self) -> Iterator[tuple[Post, int]]:
        for adult in self.adults:
            rotations = self.problem.rotations_of(adult)
            for station in self.problem.stations:
                if may_stand_at(adult, station):
                    open_in = self.problem.rotations_of(station)
                    for post in (Post(adult.id, station.key, r) for r in rotations if r in open_in):
                        yield post, self._sought(post, 0)

    def _again(self) -> Iterator[tuple[tuple[int, str], int]]:
        for child in self.problem.children:
            most = len(self.problem.rotations_of(child))
            for work in child.works:
                if not work.turns:
                    cost = ONCE_MORE + work.worth if self.aim == "worth" else 0
                    yield (child.id, work.drill), self.programme.variable(-cost, most)

    def _sought(self, each: At | Post, worth: int) -> int:
        if self.aim != "worth":
            return self.programme.variable()
        return self.programme.variable(worth + AS_BEFORE * (each in self.near))


def may_be_at(work: Work, station: Station) -> bool:
    """The support that she is allowed can be given there."""
    return work.drill == station.drill and work.spotters <= station.spotters


def may_stand_at(adult: Adult, station: Station) -> bool:
    if station.spotters:
        return station.drill in adult.spots
    return station.adults > 0 and adult.supervises
