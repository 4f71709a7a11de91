"""What was read off a picture from the side, as it comes with a graded turn: angles, their errors,
joints in lengths of the shin, and the grade that they suggest. No picture is ever part of a line.

Shared: used by the door for turns.
"""

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from progression.ladder.field_types import GRADES, PICTURES

Numbers = tuple[float, ...]
Part = TypeVar("Part")

_HANDS = frozenset({"wrist", "elbow", "shoulder", "hip", "knee", "ankle"})
# The joints of each kind of picture, as readiness/engine/eyes reads them.
SIDE_JOINTS: Mapping[str, frozenset[str]] = {
    "sit": frozenset({"heel", "toe", "ankle", "knee", "hip", "shoulder"}),
    "line": _HANDS,
    "bridge": _HANDS,
}
# Farther is no angle in degrees, and no joint of the same body in lengths of its shin.
FARTHEST_ANGLE = 720
FARTHEST_JOINT = 100
WIDEST_SPREAD = 10


@dataclass(frozen=True)
class SideReading:
    """``angles``: by name in degrees, and half of the width in which 95 of 100 lie; the hips behind
    the heels in lengths of the shin. ``joints``: x toward the side the child came from, y up, from
    the first of them, in lengths of the shin; so is ``spread``, the standard deviation of a tap,
    from taps that were made ``twice`` or else the studio's own. ``chances``: of each grade.
    """

    picture: str
    angles: Mapping[str, Numbers]
    joints: Mapping[str, Numbers]
    spread: float
    twice: bool
    suggests: int
    chances: Numbers


def read_side(raw: object, picture: str | None) -> SideReading:
    """``picture``: the kind of which the drill's rubric has regions, or None. ValueError if it is
    anything else than the page sends."""
    if picture is None or not isinstance(raw, Mapping) or raw.get("kind") != picture:
        raise ValueError("picture")
    chances = _numbers(raw.get("chances"), len(GRADES), 1)
    if min(chances) < 0 or not math.isclose(sum(chances), 1, abs_tol=0.01):
        raise ValueError("chances")
    suggests, twice = raw.get("suggests"), raw.get("twice")
    if type(suggests) is not int or suggests not in GRADES or type(twice) is not bool:
        raise ValueError("suggests")
    (spread,) = _numbers([raw.get("spread")], 1, WIDEST_SPREAD)
    if spread < 0:
        raise ValueError("spread")
    return SideReading(
        picture=picture,
        angles=_by_name(raw.get("angles"), PICTURES[picture], _angle),
        joints=_by_name(raw.get("joints"), SIDE_JOINTS[picture], _joint),
        spread=spread,
        twice=twice,
        suggests=suggests,
        chances=chances,
    )


def _angle(value: object) -> Numbers:
    read = _numbers(value, 2, FARTHEST_ANGLE)
    if read[1] < 0:
        raise ValueError("error")
    return read


def _joint(value: object) -> Numbers:
    return _numbers(value, 2, FARTHEST_JOINT)


def _by_name(
    value: object, names: Collection[str], read: Callable[[object], Part]
) -> dict[str, Part]:
    """These names, all of them and no other."""
    if not isinstance(value, Mapping) or value.keys() != set(names):
        raise ValueError("names")
    return {name: read(value[name]) for name in sorted(names)}


def _numbers(value: object, count: int, farthest: float) -> Numbers:
    if not isinstance(value, list) or len(value) != count:
        raise ValueError("numbers")
    if not all(type(one) in (int, float) and abs(one) <= farthest for one in value):
        raise ValueError("numbers")
    return tuple(float(one) for one in value)


def picture_of(drill: Mapping[str, Any], content: Mapping[str, Any]) -> str | None:
    """The kind of picture that a drill's rubric can be read from."""
    for rubric in content["rubric"]:
        if rubric["key"] == drill.get("rubric"):
            kind: str | None = rubric.get("picture")
            return kind
    return None
