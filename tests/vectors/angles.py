"""angles.json: pictures and what is read of them; the generator of the draws, and its first draw.

As the engine answers; tests/engine/eyes judges the engine.
"""

import random
from itertools import islice
from typing import Any

from readiness.engine.eyes.draws import SEED, draws, xorshift
from readiness.engine.eyes.figure import with_hips
from readiness.engine.eyes.pictures import JOINTS, UnreadableError
from readiness.engine.eyes.reading import Spread, read, tapped_twice
from readiness.engine.eyes.regions import Regions
from tests.support.engine.figures import FIGURES, picture
from tests.support.engine.records import CONTENT

Data = dict[str, Any]
A_KIND = 14
LIMITS: dict[str, dict[str, tuple[float, float]]] = {
    "sit": {
        "shin_lean": (-10, 30),
        "knee": (70, 170),
        "trunk_lean": (-5, 45),
        "heel_lift": (0, 25),
    },
    "line": {
        "arm_lean": (-10, 20),
        "trunk_lean": (0, 40),
        "leg_lean": (-20, 95),
        "elbow": (145, 190),
    },
    "bridge": {"arm_lean": (-15, 40), "elbow": (140, 190), "knee": (75, 180)},
}


def cases() -> Data:
    regions = {rubric["picture"]: rubric["regions"] for rubric in CONTENT["rubric"]}
    draw = random.Random(20260720)
    normal, turn = draws(len(JOINTS["sit"]) + 2)
    pictures = [_picture(kind, regions[kind], draw, at) for kind in JOINTS for at in range(A_KIND)]
    return {
        "generator": {
            "seed": SEED,
            "first": list(islice(xorshift(), 5)),
            "normal": normal[0].round(9).tolist(),
            "turn": round(float(turn[0]), 9),
        },
        "regions": regions,
        "tapped_twice": [_tapped_twice(draw, pairs) for pairs in (1, 6, 8)],
        "unreadable": _unreadable(pictures),
        "hips": [_hips(draw) for _ in range(8)],
        "pictures": pictures,
    }


def _picture(kind: Any, regions: list[Data], draw: random.Random, at: int) -> Data:
    angles = {name: draw.uniform(*span) for name, span in LIMITS[kind].items()}
    side: Any = ("left", "right")[at % 2]
    joints, floor = picture(
        FIGURES[kind](**angles),
        travels=side,
        scale=draw.uniform(3, 9),
        tilt=draw.uniform(-8, 8),
        yaw=draw.uniform(-15, 15),
    )
    # To a tenth of a pixel, as a screen may have it; the floor tapped from either end.
    joints = {name: _tenth(point) for name, point in joints.items()}
    ends = _tenth(floor[at % 3 == 0]), _tenth(floor[at % 3 != 0])
    spread = Spread({name: round(draw.uniform(1, 5), 1) for name in joints}, 2.0)
    reading = read(kind, joints, ends, side, spread, Regions.from_content(regions))
    return {
        "kind": kind,
        "travels": side,
        "joints": joints,
        "floor": ends,
        "spread": {"joints": spread.joints, "floor": spread.floor},
        "angles": {
            name: [round(one.value, 9), round(one.error, 9)] for name, one in reading.angles.items()
        },
        "grade": reading.grade,
        "chances": reading.chances,
    }


def _tenth(point: tuple[float, float]) -> tuple[float, float]:
    return round(point[0], 1), round(point[1], 1)


def _hips(draw: random.Random) -> Data:
    """How far behind the heels the hips of a drawn sit are, for static/floor/drawing/poses.js."""
    angles = {name: round(draw.uniform(*span), 1) for name, span in LIMITS["sit"].items()}
    return {"angles": angles, "behind": round(with_hips(angles)["hip_behind_heel"], 9)}


def _tapped_twice(draw: random.Random, count: int) -> Data:
    pairs = [(_tap(draw), _tap(draw)) for _ in range(count)]
    return {"pairs": pairs, "sd": round(tapped_twice(pairs), 9)}


def _tap(draw: random.Random) -> tuple[float, float]:
    return round(draw.gauss(100, 3), 1), round(draw.gauss(50, 3), 1)


def _unreadable(pictures: list[Data]) -> list[Data]:
    one = pictures[0]
    cases = []
    for change, floor in (
        ({"hip": one["joints"]["knee"]}, one["floor"]),
        ({}, (one["floor"][0], one["floor"][0])),
    ):
        joints = one["joints"] | change
        try:
            read("sit", joints, floor, "left", Spread({}, 1), Regions(()))
        except UnreadableError as error:
            names = list(error.names)
        cases.append({"kind": "sit", "joints": joints, "floor": floor, "names": names})
    return cases
