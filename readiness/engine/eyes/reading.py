"""A picture read: each angle with its error, and the grade it suggests with its chances."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from readiness.engine.eyes.draws import DRAWS, draws
from readiness.engine.eyes.pictures import (
    ANGLES,
    JOINTS,
    Angle,
    Behind,
    Bend,
    Floor,
    Joints,
    Kind,
    Lean,
    Point,
    Side,
    Upright,
    stand,
    upright,
)
from readiness.engine.eyes.regions import Regions

GRADES = 4
# How far the camera may stand out of side-on: up to there, angles of elbow and knee hardly differ
# (Stevens et al., *American Journal of Physical Anthropology* 2006;129:399, up to 20 degrees).
MOST_TURN = 15
_MOST_COSINE = math.cos(math.radians(MOST_TURN))
# 95 in 100 of a normal distribution lie within so many standard deviations.
REACH = 1.959963984540054


@dataclass(frozen=True)
class Spread:
    """How far taps scatter, as a standard deviation across and down alike, in the picture's unit:
    of each joint, and of the two points of the floor."""

    joints: Mapping[str, float]
    floor: float


@dataclass(frozen=True)
class ReadAngle:
    """Degrees; hips behind heels in lengths of the shin. The true one lies within ± ``error`` in
    95 of 100 readings, as far as taps and the camera's turn go."""

    value: float
    error: float


@dataclass(frozen=True)
class Reading:
    """``chances``: of the grades 0 to 3, in 4,000 draws."""

    angles: Mapping[str, ReadAngle]
    grade: int
    chances: tuple[float, ...]

    @property
    def sure(self) -> float:
        return self.chances[self.grade]


def read(
    kind: Kind, joints: Joints, floor: Floor, travels: Side, spread: Spread, regions: Regions
) -> Reading:
    """UnreadableError for two joints in the same place that an angle is read between."""
    body = stand(kind, joints, floor, travels)
    values = {name: angle.of(body) for name, angle in ANGLES[kind].items()}
    horizon = math.sqrt(2) * spread.floor / math.dist(*floor)
    angles = {
        name: ReadAngle(
            float(values[name]),
            REACH * math.hypot(_by_taps(angle, body, spread, horizon), _by_turn(angle, body)),
        )
        for name, angle in ANGLES[kind].items()
    }
    chances = _chances(kind, joints, floor, travels, spread, regions)
    return Reading(angles, int(regions.grade(values)), chances)


def _by_taps(angle: Angle, body: Upright, spread: Spread, horizon: float) -> float:
    """The standard deviation that comes from the taps, by propagation of errors to first order.

    Of a joint: s·√(1/a² + 1/b² + c²/(a²b²)), with the lengths a, b of its two lines and the
    distance c of their ends. Of a lean: s·√2/length, and the horizon's own.
    """
    s = spread.joints
    match angle:
        case Lean(start, end):
            lean = math.hypot(s[start], s[end]) / float(body.length(start, end))
            return math.degrees(math.hypot(lean, horizon))
        case Bend(start, joint, end):
            a, b = float(body.length(start, joint)), float(body.length(joint, end))
            c = float(body.length(start, end))
            return math.degrees(math.hypot(s[start] / a, s[end] / b, s[joint] * c / (a * b)))
        case Behind(start, end, (low, high)):
            length = float(body.length(low, high))
            height = float(body.between(start, end)[1])
            unit = float(angle.of(body)) * math.hypot(s[low], s[high])
            return math.hypot(s[start], s[end], unit, height * horizon) / length


def _by_turn(angle: Angle, body: Upright) -> float:
    """The root mean square error that comes from a camera turned by up to 15° either way, all
    turns alike: it grows as the turn's square, whose root mean square is its greatest by √5."""
    most = angle.of(body.turned(_MOST_COSINE)) - angle.of(body)
    return abs(float(most)) / math.sqrt(5)


def _chances(
    kind: Kind, joints: Joints, floor: Floor, travels: Side, spread: Spread, regions: Regions
) -> tuple[float, ...]:
    """How often each grade comes out if each tap might as well have fallen where its spread lets
    it, and the camera might have stood as far off as it may. The two floor points come last."""
    names = JOINTS[kind]
    normal, turn = draws(len(names) + 2)

    def drawn(at: int, point: Point, sd: float) -> tuple[np.ndarray, np.ndarray]:
        return point[0] + sd * normal[:, at, 0], point[1] + sd * normal[:, at, 1]

    body = upright(
        {name: drawn(at, joints[name], spread.joints[name]) for at, name in enumerate(names)},
        (
            drawn(len(names), floor[0], spread.floor),
            drawn(len(names) + 1, floor[1], spread.floor),
        ),
        travels,
    ).turned(np.cos(np.radians(MOST_TURN * turn)))
    grades = regions.grade({name: angle.of(body) for name, angle in ANGLES[kind].items()})
    counts = np.bincount(grades, minlength=GRADES)
    return tuple(float(count) / DRAWS for count in counts)


def tapped_twice(pairs: Sequence[tuple[Point, Point]]) -> float:
    """The spread of points that are each the middle of two taps, from how far the two differ.

    All pairs together: the variance of one tap is the mean of (dx² + dy²)/4, that of the middle
    half as much. So few differences tell it only roughly, so it is made wider by Student's t over
    the normal: 1 + (z² + 1)/4n + (5z⁴ + 16z² + 3)/96n², n = 2·pairs (Abramowitz & Stegun 26.7.5).
    """
    squares = sum((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 for a, b in pairs)
    sd = math.sqrt(squares / (8 * len(pairs)))
    free, z2 = 2 * len(pairs), REACH**2
    return sd * (1 + (z2 + 1) / (4 * free) + (5 * z2**2 + 16 * z2 + 3) / (96 * free**2))
