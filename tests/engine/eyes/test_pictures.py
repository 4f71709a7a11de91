"""Angles read off pictures whose angles are known."""

import math
import random
from typing import Any

import numpy as np
import pytest

from progression.ladder.field_types import PICTURES
from readiness.engine.eyes.pictures import ANGLES, JOINTS, UnreadableError, side_of, stand, upright
from tests.support.engine.figures import FIGURES, Figure, picture
from tests.vectors.angles import LIMITS

KINDS = ("sit", "line", "bridge")


def angles_of(kind: Any, joints: Figure, floor: Any, travels: Any) -> dict[str, float]:
    body = stand(kind, joints, floor, travels)
    return {name: float(angle.of(body)) for name, angle in ANGLES[kind].items()}


def drawn(kind: str, draw: random.Random) -> dict[str, float]:
    return {name: draw.uniform(*span) for name, span in LIMITS[kind].items()}


@pytest.mark.parametrize("kind", KINDS)
def test_every_angle_is_read_as_it_was_drawn_in_either_direction(kind: str) -> None:
    """Whatever the picture's size, place and tilt (sources: exact, to 1e-9)."""
    draw = random.Random(1)
    for _ in range(40):
        angles = drawn(kind, draw)
        side = draw.choice(("left", "right"))
        joints, floor = picture(
            FIGURES[kind](**angles),
            travels=side,
            scale=draw.uniform(2, 9),
            tilt=draw.uniform(-30, 30),
            at=(draw.uniform(0, 900), draw.uniform(0, 900)),
        )
        for ends in (floor, floor[::-1]):
            read = angles_of(kind, joints, ends, side)
            for name, value in angles.items():
                assert read[name] == pytest.approx(value, abs=1e-9), name


def test_angles_inside_a_joint_obey_the_law_of_cosines() -> None:
    """c² = a² + b² - 2ab·cos C (Euclid, *Elements* II.12 and 13); folded, it knows no side."""
    draw = random.Random(2)
    for kind in KINDS:
        names = JOINTS[kind]  # type: ignore[index]
        joints = {name: (draw.uniform(0, 800), draw.uniform(0, 800)) for name in names}
        knee = angles_of(kind, joints, ((0, 0), (1, 0)), "left")["knee"]
        a, b = math.dist(joints["ankle"], joints["knee"]), math.dist(joints["knee"], joints["hip"])
        c = math.dist(joints["ankle"], joints["hip"])
        folded = math.degrees(math.acos((a * a + b * b - c * c) / (2 * a * b)))
        assert min(knee, 360 - knee) == pytest.approx(folded, abs=1e-6)


def test_the_angle_of_a_triangle_with_sides_3_4_5_is_the_published_one() -> None:
    """36.8698976 degrees, the smaller acute angle of the triangle 3-4-5."""
    joints = {"ankle": (0, 0), "knee": (4, 0), "hip": (0, -3), "heel": (9, 9), "toe": (8, 9)}
    knee = angles_of("sit", joints | {"shoulder": (1, -9)}, ((0, 9), (9, 9)), "left")["knee"]
    assert min(knee, 360 - knee) == pytest.approx(36.8698976, abs=1e-7)


def test_hips_behind_the_heels_are_in_lengths_of_the_shin() -> None:
    joints = {"heel": (400, 800), "toe": (500, 800), "ankle": (420, 780), "knee": (420, 580)}
    joints |= {"hip": (350, 560), "shoulder": (380, 300)}
    floor = ((0, 800), (900, 800))
    assert angles_of("sit", joints, floor, "left")["hip_behind_heel"] == pytest.approx(50 / 200)
    assert angles_of("sit", joints, floor, "right")["hip_behind_heel"] == pytest.approx(-50 / 200)


@pytest.mark.parametrize(
    ("yaw", "reads"), [(10, (44.56, 90.88)), (20, (43.22, 93.56)), (30, (40.89, 98.21))]
)
def test_a_turned_camera_shortens_what_runs_across(yaw: float, reads: Any) -> None:
    """A lean phi reads atan(tan phi · cos yaw), exactly: 45 degrees, and a right angle of a sit
    whose shin and thigh lean by 45 degrees, at 10, 20 and 30 degrees."""
    figure = FIGURES["sit"](45, 90, 0)
    joints, floor = picture(figure, yaw=yaw)
    read = angles_of("sit", joints, floor, "left")
    assert read["shin_lean"] == pytest.approx(reads[0], abs=0.005)
    knee = 180 - 2 * read["shin_lean"]
    assert read["knee"] == pytest.approx(knee)
    lying = {"ankle": (0.0, 0.0), "knee": (1.0, 1.0), "hip": (2.0, 0.0)}
    joints, floor = picture(figure | lying, yaw=yaw)
    folded = angles_of("sit", joints, floor, "left")["knee"]
    assert min(folded, 360 - folded) == pytest.approx(180 - reads[1], abs=0.005)


def test_a_straight_joint_folded_into_180_reads_low_and_the_signed_one_does_not() -> None:
    """Lines of 120 with taps that scatter by 3: folded, 177.20 in the mean, sd 2.12, which is
    180 - sigma·√(2/pi) with sigma = 3.509 (exact)."""
    draw = np.random.default_rng(20261130)
    straight = {"ankle": (0.0, 240.0), "knee": (0.0, 120.0), "hip": (0.0, 0.0)}
    tapped = {
        name: tuple(np.array(point)[:, None] + draw.normal(0, 3, (2, 200_000)))
        for name, point in straight.items()
    }
    floor = tuple((np.array(x), np.array(0.0)) for x in (-9.0, 9.0))
    knee = ANGLES["sit"]["knee"].of(upright(tapped, floor, "left"))  # type: ignore[arg-type]
    assert knee.mean() == pytest.approx(180, abs=0.03)
    assert knee.std() == pytest.approx(3.509, abs=0.02)
    folded = np.minimum(knee, 360 - knee)
    assert folded.mean() == pytest.approx(177.20, abs=0.02)
    assert folded.std() == pytest.approx(2.12, abs=0.02)


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_can_tell_to_which_side_a_child_goes(kind: Any) -> None:
    for side in ("left", "right"):
        joints, _ = picture(FIGURES[kind](**drawn(kind, random.Random(3))), travels=side, tilt=4)
        assert side_of(kind, joints) == side


def test_two_joints_in_one_place_are_named() -> None:
    joints, floor = picture(FIGURES["sit"](0, 110, 20))
    with pytest.raises(UnreadableError) as refused:
        stand("sit", joints | {"hip": joints["knee"]}, floor, "left")
    assert refused.value.names == ("knee", "hip")
    with pytest.raises(UnreadableError) as refused:
        stand("sit", joints, (floor[0], floor[0]), "left")
    assert refused.value.names == ("floor",)


def test_the_ladder_knows_the_angles_that_are_read() -> None:
    assert {kind: set(angles) for kind, angles in ANGLES.items()} == PICTURES
