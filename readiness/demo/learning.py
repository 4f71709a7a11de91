"""How an invented child learns. All of it is made up; it only has to look like learning.

A child has two heights, one for each track of the ladder: ``back`` (stages 1 to 4) and
``spring`` (stages 1 and 5 to 9). A height near a stage's number is about what the stage asks.
Heights rise along a curve of the child's own, rest on plateaus and dip now and then.
"""

import datetime
import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from readiness.engine.ladder import Drill

# What a turn's support adds to the height: hands help.
SUPPORT_HELPS = {3: 0.7, 2: 0.35, 1: 0.1, 0: 0.0}
LEAST_CLEAN, MOST_CLEAN, STEEPNESS = 0.35, 0.975, 0.32
# How much lower the height counts at the first turn of a drill, and in how many turns that halves.
NEW_DRILL, NEW_DRILL_HALVES = 0.9, 12

# For drills that are clean or not: the track, and the height at which two turns in three are clean.
CLEAN_AT: dict[str, tuple[str, float]] = {
    "log-roll": ("ground", 1.3),
    "safe-fall": ("ground", 1.1),
    "kick-to-handstand": ("ground", 1.6),
    "kick-over-block": ("back", 1.7),
    "kick-over-floor": ("back", 2.3),
    "back-bend-raised": ("back", 1.8),
    "back-walkover": ("back", 2.9),
    "walkover-in-dance": ("back", 3.6),
    "sit-in-arms": ("ground", 2.8),
    "sit-fall": ("spring", 3.6),
    "swing-jump": ("ground", 1.4),
    "jump-back": ("spring", 4.4),
    "sit-and-reach": ("spring", 5.0),
    "barrel": ("spring", 5.0),
    "snap-down": ("spring", 5.4),
    "rebound": ("spring", 4.6),
    "roundoff-rebound": ("ground", 5.6),
    "handspring": ("spring", 6.2),
    "handspring-in-dance": ("spring", 7.3),
    "two-handsprings": ("spring", 7.9),
    "roundoff-handspring": ("spring", 8.1),
}

# For the others: the track, and what the child reaches at some heights (in between: a line).
REACHES: dict[str, tuple[str, tuple[tuple[float, float], ...]]] = {
    "hollow-hold": ("ground", ((0.5, 6), (1.5, 12), (2, 19), (3, 25), (5, 31), (6, 38), (9.5, 62))),
    "arch-hold": ("ground", ((0.5, 7), (1.5, 13), (2, 20), (3, 27), (6, 40), (9.5, 60))),
    "front-support": ("ground", ((0.5, 9), (1.5, 17), (2, 26), (3, 30), (5, 38), (9.5, 75))),
    "wall-handstand-half": ("ground", ((0.5, 6), (1.5, 14), (2, 22), (3, 34), (9.5, 60))),
    "wall-handstand": ("ground", ((0.5, 3), (1.5, 8), (2, 14), (3, 25), (6, 38), (9.5, 60))),
    "free-handstand": ("ground", ((2, 0.6), (4, 2), (6, 5), (9.5, 13))),
    "name-the-shape": ("ground", ((0.5, 2), (1.5, 4.2), (2, 5.5), (3, 5.9), (9.5, 6))),
    "shrugs-knees": ("ground", ((0.5, 4), (2, 9), (5, 15), (9.5, 22))),
    "donkey-kicks": ("ground", ((0.5, 2), (1.5, 4), (2.5, 5), (9.5, 5))),
    "bridge-hold": ("back", ((0.5, 3), (2, 9), (3, 15), (4.5, 26))),
    "bridge-line": ("back", ((0.5, 0.3), (2, 1.3), (2.6, 2), (3.2, 2.3), (4.5, 2.8))),
    "bridge-rocks": ("back", ((0.5, 1), (2, 6), (3, 10), (4.5, 16))),
    "shrugs-pushup": ("spring", ((1, 3), (3.5, 9), (4.6, 14), (9.5, 24))),
    "wall-shrugs-upright": ("spring", ((1, 4), (3.5, 8), (5.6, 13), (9.5, 22))),
    "wall-shrugs": ("spring", ((1, 2), (4.6, 7), (5.6, 10), (6.6, 12), (9.5, 18))),
    "handstand-hops": ("spring", ((4.5, 1), (6, 3), (9.5, 3))),
    "sit-depth": ("spring", ((1, 0.3), (3.5, 1.4), (4.5, 2.2), (5.5, 2.85), (9.5, 3))),
    "block-line-held": ("spring", ((5.5, 0.9), (6.5, 2), (7.4, 2.4), (9.5, 2.9))),
}  # fmt: skip

# How often a fault has each root: nearly all come from the sit or from the arms.
WEIGHTS = {"sit": 5, "support": 3, "back-line": 1.6, "shape": 1.2, "commitment": 0.8, "block": 0.6}
# A fault of so few drills is what a coach looks for there, so it is seen so many times as often.
FEW_DRILLS, LOOKED_FOR = 3, 4
# Of three children one misses so many times as often from the sit, one from the arms, one from
# no root of its own.
OWN_ROOTS, OWN = ("sit", "support", ""), 4


@dataclass(frozen=True)
class Dip:
    """A time of being less steady: growing, a fright, a long week at school."""

    first: datetime.date
    last: datetime.date
    depth: float


@dataclass(frozen=True)
class Curve:
    """A height over time: straight lines between these points, level before and after."""

    days: Sequence[datetime.date]
    heights: Sequence[float]

    def on(self, day: datetime.date) -> float:
        index = bisect_right(self.days, day)
        if index in (0, len(self.days)):
            return self.heights[0 if index == 0 else -1]
        before, after = self.days[index - 1], self.days[index]
        low, high = self.heights[index - 1], self.heights[index]
        return low + (day - before) / (after - before) * (high - low)


@dataclass(frozen=True)
class Learner:
    """One child's way of learning. ``offsets``: added to the height, by drill."""

    back: Curve
    spring: Curve
    dips: tuple[Dip, ...]
    offsets: Mapping[str, float]

    def height(self, track: str, day: datetime.date) -> float:
        dip = max((d.depth for d in self.dips if d.first <= day <= d.last), default=0.0)
        back, spring = self.back.on(day), self.spring.on(day)
        height = {"back": back, "spring": spring, "ground": max(back, spring)}[track]
        return height - dip * (0.5 if track == "ground" else 1.0)

    def clean_chance(
        self, drill: str, support: int, day: datetime.date, turns_before: int
    ) -> float:
        """How likely the next turn is clean, 0 to 1. A drill that is new goes less well."""
        track, learned_at = CLEAN_AT[drill]
        height = self.height(track, day) + self.offsets[drill] + SUPPORT_HELPS[support]
        height -= NEW_DRILL * 2 ** (-turns_before / NEW_DRILL_HALVES)
        share = 1 / (1 + math.exp(-(height - learned_at) / STEEPNESS))
        return LEAST_CLEAN + (MOST_CLEAN - LEAST_CLEAN) * share

    def value(self, drill: Drill, day: datetime.date, rng: Random) -> float:
        """Seconds, reps or a grade of the next turn, within what can be logged."""
        track, points = REACHES[drill.key]
        height = self.height(track, day) + self.offsets[drill.key]
        reached = _interpolate(points, height)
        if drill.measure == "seconds":
            return float(round(max(0.0, min(drill.most, reached * rng.gauss(1, 0.1))), 1))
        spread = 0.35 if drill.measure == "grade" else max(0.3, reached * 0.1)
        return float(round(max(0.0, min(drill.most, rng.gauss(reached, spread)))))


def _interpolate(points: Sequence[tuple[float, float]], x: float) -> float:
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (x - x0) / (x1 - x0) * (y1 - y0)
    return points[-1][1]


def rising(
    start: float, end: float, first: datetime.date, last: datetime.date, rng: Random
) -> Curve:
    """From one height to another by ``last``, quick and slow by turns, with plateaus."""
    parts = 9
    steps = [rng.choice((0.0, 0.3, 1.0, 1.0, 1.8)) for _ in range(parts)]
    if not sum(steps):
        steps[0] = 1.0
    days, heights = [first], [start]
    for part, step in enumerate(steps, start=1):
        days.append(first + (last - first) * part / parts)
        heights.append(heights[-1] + (end - start) * step / sum(steps))
    return Curve(days, heights)


def dips(first: datetime.date, last: datetime.date, rng: Random) -> tuple[Dip, ...]:
    """About one a year, three to six weeks long, none in the last ten weeks."""
    weeks = (last - first).days // 7 - 10
    periods = []
    for start in range(4, weeks - 6, 45):
        begins = first + datetime.timedelta(weeks=start + rng.randrange(20))
        ends = begins + datetime.timedelta(weeks=rng.randint(3, 6))
        if ends < last - datetime.timedelta(weeks=10):
            periods.append(Dip(begins, ends, rng.uniform(0.3, 0.8)))
    return tuple(periods)


def weight(root: str, drills: int, child: int) -> float:
    """How often a fault is seen against the others: by its root, at how many drills it is, and
    whether the root is the child's own; ``child``: its index."""
    own = OWN if root == OWN_ROOTS[child % len(OWN_ROOTS)] else 1
    return WEIGHTS[root] * own * (LOOKED_FOR if drills <= FEW_DRILLS else 1)


def choose_faults(faults: Sequence[tuple[str, float]], stop_sign: bool, rng: Random) -> list[str]:
    """One of these faults (key, weight) of a turn that was not clean, or none noted."""
    fitting = [fault for fault in faults if fault[0] not in ("head-touches", "caught")]
    if not fitting or (not stop_sign and rng.random() < 0.35):
        return []
    keys, weights = zip(*fitting, strict=True)
    return rng.choices(keys, weights)
