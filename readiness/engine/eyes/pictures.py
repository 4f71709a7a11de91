"""The joints that are tapped on a picture, and the angles between them.

Points are (across, down), in any unit, as on a screen. The floor is two points on the floor line;
all leans are from what is square to it. ``travels``: the side of the picture to which the child
will go, backward. Signs are those of the rubrics: a lean is + toward the side the child came from.

Angles are signed, by atan2, and never folded into 0 to 180: a straight joint that is tapped a
little off reads sometimes more and sometimes less than 180, and right in the mean.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from readiness.engine.eyes.draws import Floats

Kind = Literal["sit", "line", "bridge"]
Side = Literal["left", "right"]
Point = tuple[float, float]
Joints = Mapping[str, Point]
Floor = tuple[Point, Point]

_SIT = ("heel", "toe", "ankle", "knee", "hip", "shoulder")
_HANDS = ("wrist", "elbow", "shoulder", "hip", "knee", "ankle")
# In the order in which they are tapped and drawn by chance.
JOINTS: Mapping[Kind, tuple[str, ...]] = {"sit": _SIT, "line": _HANDS, "bridge": _HANDS}


class UnreadableError(ValueError):
    """Two points that make a line stand in the same place: their names, ("floor",) for the
    floor's two."""

    def __init__(self, *names: str) -> None:
        super().__init__(" and ".join(names))
        self.names = names


@dataclass(frozen=True)
class Upright:
    """Joints with the floor laid level: x toward the side the child came from, y upward."""

    x: Mapping[str, Floats]
    y: Mapping[str, Floats]

    def between(self, start: str, end: str) -> tuple[Floats, Floats]:
        return self.x[end] - self.x[start], self.y[end] - self.y[start]

    def lean(self, start: str, end: str) -> Floats:
        """Of the line from one joint up to another, in degrees from straight up."""
        return np.degrees(np.arctan2(*self.between(start, end)))

    def length(self, start: str, end: str) -> Floats:
        return np.hypot(*self.between(start, end))

    def turned(self, cosine: Floats | float) -> "Upright":
        """As it would stand side-on, if the camera stood so far off: what runs across was
        shortened by the cosine."""
        return Upright({name: x / cosine for name, x in self.x.items()}, self.y)


@dataclass(frozen=True)
class Lean:
    """Of the line from ``start`` to ``end``; ``level``: what the same line reads at 0."""

    start: str
    end: str
    level: float = 0

    def of(self, body: Upright) -> Floats:
        return wrapped(body.lean(self.start, self.end) - self.level)


@dataclass(frozen=True)
class Bend:
    """The inside of a joint: 180 is straight, more than 180 is bent the other way.

    ``sense``: 1 for a knee and -1 for an elbow, which bend opposite ways seen from the same side.
    """

    start: str
    joint: str
    end: str
    sense: int

    def of(self, body: Upright) -> Floats:
        lower, upper = body.lean(self.start, self.joint), body.lean(self.joint, self.end)
        return 180 - self.sense * wrapped(lower - upper)


@dataclass(frozen=True)
class Behind:
    """How far ``end`` is from ``start`` on the side to which the child will go, in lengths of a
    line of the body."""

    start: str
    end: str
    unit: tuple[str, str]

    def of(self, body: Upright) -> Floats:
        return (body.x[self.start] - body.x[self.end]) / body.length(*self.unit)


Angle = Lean | Bend | Behind

_KNEE = Bend("ankle", "knee", "hip", 1)
_ARM: Mapping[str, Angle] = {
    "elbow": Bend("wrist", "elbow", "shoulder", -1),
    "arm_lean": Lean("wrist", "shoulder"),
}
ANGLES: Mapping[Kind, Mapping[str, Angle]] = {
    "sit": {
        "shin_lean": Lean("ankle", "knee"),
        "knee": _KNEE,
        "trunk_lean": Lean("hip", "shoulder"),
        "hip_behind_heel": Behind("heel", "hip", ("ankle", "knee")),
        "heel_lift": Lean("toe", "heel", level=-90),
    },
    "line": {
        **_ARM,
        "trunk_lean": Lean("shoulder", "hip"),
        "leg_lean": Lean("hip", "ankle"),
        "knee": _KNEE,
    },
    "bridge": {**_ARM, "knee": _KNEE},
}


def wrapped(degrees: Floats) -> Floats:
    """From more than -180 to 180."""
    return 180 - (180 - degrees) % 360


def upright(
    joints: Mapping[str, tuple[Floats, Floats]],
    floor: tuple[tuple[Floats, Floats], tuple[Floats, Floats]],
    travels: Side,
) -> Upright:
    """The joints with the floor laid level, whichever of its points was tapped first."""
    (x1, y1), (x2, y2) = floor
    flip = np.where(x2 < x1, -1.0, 1.0)
    across, down = (x2 - x1) * flip, (y2 - y1) * flip
    length = np.hypot(across, down)
    across, down = across / length, down / length
    came_from = 1.0 if travels == "left" else -1.0
    return Upright(
        {name: came_from * (x * across + y * down) for name, (x, y) in joints.items()},
        {name: x * down - y * across for name, (x, y) in joints.items()},
    )


def stand(kind: Kind, joints: Joints, floor: Floor, travels: Side) -> Upright:
    """A picture's own joints, laid level. UnreadableError for two points in the same place."""
    if floor[0] == floor[1]:
        raise UnreadableError("floor")
    for start, end in lines_of(kind):
        if joints[start] == joints[end]:
            raise UnreadableError(start, end)
    as_arrays = {
        name: (np.asarray(x, float), np.asarray(y, float)) for name, (x, y) in joints.items()
    }
    (x1, y1), (x2, y2) = (np.asarray(point, float) for point in floor)
    return upright(as_arrays, ((x1, y1), (x2, y2)), travels)


def lines_of(kind: Kind) -> list[tuple[str, str]]:
    """The lines that the angles of a picture are read between."""
    lines: list[tuple[str, str]] = []
    for angle in ANGLES[kind].values():
        match angle:
            case Lean(start, end):
                lines.append((start, end))
            case Bend(start, joint, end):
                lines += [(start, joint), (joint, end)]
            case Behind(unit=unit):
                lines.append(unit)
    return lines


def side_of(kind: Kind, joints: Joints) -> Side:
    """To which side the child seems to go, for the page to begin with: toward the heels from the
    toes, toward the hands from the feet. Of a line that is already past upright it would be
    wrong, so a person has the last word."""
    start, end = ("toe", "heel") if kind == "sit" else ("ankle", "wrist")
    return "left" if joints[end][0] < joints[start][0] else "right"
