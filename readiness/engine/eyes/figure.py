"""Drawn figures near the borders of a rubric, twelve at a time, and what each of them is.

They are drawn by static/floor/drawing/poses.js, from the angles alone.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from readiness.engine.eyes.draws import xorshift
from readiness.engine.eyes.regions import Regions

TWELVE = 12
A_GRADE = 3
# So far from the border that a person can see it, and so near that it has to be looked at; in
# degrees (practice). All other angles are near those of a pose, and a little more or less of any
# angle changes no grade.
NEAREST, FARTHEST, AROUND, MARGIN = 4, 12, 4, 3
# After so many tries any grade will do: a ladder may have no figure of one.
TRIES = 3000
# Of the figure that is drawn: toe to ankle, toe to heel, shin and thigh.
INSTEP, FOOT, SHIN, THIGH = 8, 13, 25, 24.5
# A knee, an elbow or a heel goes no further.
LIMITS = {"knee": (0, 180), "elbow": (0, 180), "heel_lift": (0, 90)}

Angles = dict[str, float]


@dataclass(frozen=True)
class Drawn:
    """A figure's angles, its grade, and which region says so, counted from 0."""

    angles: Angles
    grade: int
    region: int


def twelve(seed: int, poses: Iterable[Mapping[str, float]], regions: Regions) -> list[Drawn]:
    """Three of each grade, in any order; the same seed gives the same twelve. ``poses``: the
    angles of each. ``seed``: 1 to 2³² - 1."""
    numbers, given = xorshift(seed), [dict(pose) for pose in poses]
    borders = [(name, at) for name, at in regions.borders if name in given[0] and at <= 180]

    def below(count: int) -> int:
        return next(numbers) * count >> 32

    def between(low: float, high: float) -> float:
        return low + (high - low) * (next(numbers) / 2.0**32)

    found: list[Drawn] = []
    tries = 0
    while len(found) < TWELVE:
        tries += 1
        pose, (name, at) = given[below(len(given))], borders[below(len(borders))]
        angles = {each: value + between(-AROUND, AROUND) for each, value in pose.items()}
        angles[name] = at + between(NEAREST, FARTHEST) * (1 if below(2) else -1)
        drawn = _drawn({each: _held(each, value) for each, value in angles.items()}, regions)
        if drawn and (tries > TRIES or _count(found, drawn.grade) < A_GRADE):
            found.append(drawn)
    for last in range(TWELVE - 1, 0, -1):
        other = below(last + 1)
        found[last], found[other] = found[other], found[last]
    return found


def _held(name: str, value: float) -> float:
    low, high = LIMITS.get(name, (-180, 180))
    return round(min(max(value, low), high), 1)


def _count(found: Iterable[Drawn], grade: int) -> int:
    return sum(each.grade == grade for each in found)


def _drawn(angles: Angles, regions: Regions) -> Drawn | None:
    """None where a little more or less of one angle would be another grade."""
    around = [
        angles,
        *(
            angles | {name: value + by}
            for name, value in angles.items()
            for by in (-MARGIN, MARGIN)
        ),
    ]
    whole = [with_hips(each) for each in around]
    which = regions.which({name: np.array([each[name] for each in whole]) for name in whole[0]})
    grades = {regions.regions[at].grade for at in which}
    return Drawn(angles, grades.pop(), int(which[0])) if len(grades) == 1 else None


def with_hips(angles: Angles) -> Angles:
    """Of a sit: how far behind the heels the hips of the figure are, in lengths of its shin."""
    if "shin_lean" not in angles:
        return angles
    lift, shin = math.radians(angles["heel_lift"]), math.radians(angles["shin_lean"])
    thigh = shin - math.radians(180 - angles["knee"])
    heel, ankle = -FOOT * math.cos(lift), -INSTEP * math.cos(lift)
    hip = ankle + SHIN * math.sin(shin) + THIGH * math.sin(thigh)
    return angles | {"hip_behind_heel": (heel - hip) / SHIN}
