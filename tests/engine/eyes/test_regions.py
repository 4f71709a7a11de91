"""The regions of the ladder that is shipped: a grade everywhere, the one the rubric says."""

from typing import Any

import numpy as np
import pytest

from readiness.engine.eyes.pictures import ANGLES, stand
from readiness.engine.eyes.regions import Regions
from tests.support.engine.figures import FIGURES, picture
from tests.support.engine.records import CONTENT

RUBRICS = {rubric["picture"]: rubric for rubric in CONTENT["rubric"]}
REGIONS = {name: Regions.from_content(one["regions"]) for name, one in RUBRICS.items()}


def sit(shin_lean: Any, knee: Any, trunk_lean: Any, hip_behind_heel: Any, heel_lift: Any) -> Any:
    """As the rubric says it (common practice, no source), each grade by itself."""
    over_foot = (hip_behind_heel < 0) & (knee > 135)
    fault = (shin_lean > 15) | (knee < 90) | (heel_lift > 10)
    right = (shin_lean >= -5) & (shin_lean <= 8) & (knee >= 95) & (knee <= 135)
    right &= (trunk_lean >= 5) & (trunk_lean <= 30) & (hip_behind_heel >= 0.25)
    return [
        over_foot,
        fault & ~over_foot,
        ~over_foot & ~fault & ~right,
        right & ~over_foot & ~fault,
    ]


def line(elbow: Any, arm_lean: Any, trunk_lean: Any, leg_lean: Any, knee: Any) -> Any:
    bent = np.abs(180 - elbow) > 30
    folded = bent | (leg_lean > 70)
    on_it = (leg_lean >= 45) & (leg_lean <= 60)
    upright = leg_lean < 25
    return [folded, ~folded & upright, ~folded & ~upright & ~on_it, ~folded & on_it]


def bridge(elbow: Any, arm_lean: Any, knee: Any) -> Any:
    bent = np.abs(180 - elbow) > 30
    nearly = (arm_lean >= 2) | (knee < 150)
    return [
        bent,
        ~bent & (arm_lean > 20),
        ~bent & (arm_lean <= 20) & nearly,
        ~bent & (arm_lean < 2) & (knee >= 150),
    ]


RULES = {"sit": sit, "line": line, "bridge": bridge}


@pytest.mark.parametrize("kind", ["sit", "line", "bridge"])
def test_the_regions_cover_the_plane_without_gaps_or_overlaps(kind: Any) -> None:
    """At 200,000 points, half of them at whole numbers, where the borders are."""
    draw = np.random.default_rng(9)
    angles = {}
    for name in ANGLES[kind]:
        low, high = (-1, 1.5) if name == "hip_behind_heel" else (-60, 240)
        some = draw.uniform(low, high, 100_000)
        angles[name] = np.concatenate([some, np.round(some, 2 if high < 2 else 0)])
    grades = REGIONS[kind].grade(angles)
    rules = RULES[kind](**angles)
    assert (np.sum(rules, axis=0) == 1).all()
    for grade, rule in enumerate(rules):
        assert ((grades == grade) == rule).all()
        assert rule.any()


BORDERS: list[tuple[Any, dict[str, float], str, list[tuple[float, int]]]] = (
    [
        (
            "sit",
            {"shin_lean": 2, "knee": 115, "trunk_lean": 20, "hip_behind_heel": 0.5, "heel_lift": 0},
            name,
            edges,
        )
        for name, edges in {
            "shin_lean": [(-5.1, 2), (-5, 3), (8, 3), (8.1, 2), (15, 2), (15.1, 1)],
            "knee": [(89.9, 1), (90, 2), (94.9, 2), (95, 3), (135, 3), (135.1, 2)],
            "trunk_lean": [(4.9, 2), (5, 3), (30, 3), (30.1, 2)],
            "hip_behind_heel": [(-0.01, 2), (0.24, 2), (0.25, 3)],
            "heel_lift": [(10, 3), (10.1, 1)],
        }.items()
    ]
    + [
        (
            "line",
            {"elbow": 180, "arm_lean": 10, "trunk_lean": 25, "leg_lean": 50, "knee": 180},
            name,
            edges,
        )
        for name, edges in {
            "leg_lean": [
                (-9, 1),
                (24.9, 1),
                (25, 2),
                (44.9, 2),
                (45, 3),
                (60, 3),
                (60.1, 2),
                (70.1, 0),
            ],
            "elbow": [(149.9, 0), (150, 3), (210, 3), (210.1, 0)],
        }.items()
    ]
    + [
        ("bridge", {"elbow": 180, "arm_lean": -5, "knee": 165}, name, edges)
        for name, edges in {
            "arm_lean": [(-20, 3), (1.9, 3), (2, 2), (20, 2), (20.1, 1)],
            "knee": [(149.9, 2), (150, 3)],
            "elbow": [(149.9, 0), (150, 3), (210.1, 0)],
        }.items()
    ]
)


@pytest.mark.parametrize(("kind", "right", "name", "edges"), BORDERS)
def test_each_border_is_where_it_is_said_to_be(
    kind: Any, right: dict[str, float], name: str, edges: list[tuple[float, int]]
) -> None:
    for value, grade in edges:
        assert int(REGIONS[kind].grade(right | {name: np.float64(value)})) == grade, value


@pytest.mark.parametrize("kind", ["sit", "line", "bridge"])
def test_every_pose_of_a_rubric_lies_in_the_region_of_its_grade(kind: Any) -> None:
    for pose in RUBRICS[kind]["pose"]:
        joints, floor = picture(FIGURES[kind](**pose["angles"]))
        body = stand(kind, joints, floor, "left")
        angles = {name: angle.of(body) for name, angle in ANGLES[kind].items()}
        assert int(REGIONS[kind].grade(angles)) == pose["grade"], pose["pose"]
