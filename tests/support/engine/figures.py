"""Joints of figures with known angles, side-on, for pictures that are made up.

x toward the side the child came from, y upward, in hundredths of the height; `picture` makes a
screen's points of them.

Lengths of the segments: shares of height after Drillis & Contini, in Winter, *Biomechanics and
Motor Control of Human Movement*, fig. 4.1 (adults; here they only have to look right).
"""

import math
from collections.abc import Mapping

Point = tuple[float, float]
Figure = dict[str, Point]

SHANK, THIGH, TRUNK, UPPER_ARM, FOREARM = 24.6, 24.5, 28.8, 18.6, 14.6
FOOT, INSTEP = 15.2, 10.0


def step(start: Point, length: float, lean: float) -> Point:
    """The point so far away, at a lean from straight up."""
    turn = math.radians(lean)
    return start[0] + length * math.sin(turn), start[1] + length * math.cos(turn)


def sit(shin_lean: float, knee: float, trunk_lean: float, heel_lift: float = 0) -> Figure:
    toe = (0.0, 0.0)
    ankle = step(toe, INSTEP, heel_lift - 90)
    at_knee = step(ankle, SHANK, shin_lean)
    hip = step(at_knee, THIGH, shin_lean - (180 - knee))
    return {
        "heel": step(toe, FOOT, heel_lift - 90),
        "toe": toe,
        "ankle": ankle,
        "knee": at_knee,
        "hip": hip,
        "shoulder": step(hip, TRUNK, trunk_lean),
    }


def line(arm_lean: float, trunk_lean: float, leg_lean: float, elbow: float) -> Figure:
    arm = _arm(arm_lean, elbow)
    hip = step(arm["shoulder"], TRUNK, trunk_lean)
    knee = step(hip, THIGH, leg_lean)
    return {**arm, "hip": hip, "knee": knee, "ankle": step(knee, SHANK, leg_lean)}


def bridge(arm_lean: float, elbow: float, knee: float, shin_lean: float = -10) -> Figure:
    """The hips stand where hips of such a bridge may stand; no angle is read of them but the
    knee."""
    ankle = (70.0, 0.0)
    at_knee = step(ankle, SHANK, shin_lean)
    hip = step(at_knee, THIGH, shin_lean - (180 - knee))
    return {**_arm(arm_lean, elbow), "hip": hip, "knee": at_knee, "ankle": ankle}


def _arm(lean: float, elbow: float) -> Figure:
    bend = math.radians(180 - elbow)
    reach = math.hypot(FOREARM + UPPER_ARM * math.cos(bend), UPPER_ARM * math.sin(bend))
    off = math.degrees(math.atan2(UPPER_ARM * math.sin(bend), FOREARM + UPPER_ARM * math.cos(bend)))
    wrist = (0.0, 0.0)
    return {
        "wrist": wrist,
        "elbow": step(wrist, FOREARM, lean - off),
        "shoulder": step(wrist, reach, lean),
    }


FIGURES = {"sit": sit, "line": line, "bridge": bridge}


def picture(
    figure: Mapping[str, Point],
    *,
    travels: str = "left",
    scale: float = 6,
    tilt: float = 0,
    yaw: float = 0,
    at: Point = (700, 800),
) -> tuple[Figure, tuple[Point, Point]]:
    """The points of a screen, x to the right and y downward, and two points of the floor. ``yaw``:
    how far the camera stands out of side-on; ``tilt``: how far it is held askew; in degrees."""
    side = math.cos(math.radians(yaw)) * (1 if travels == "left" else -1)
    turn = math.radians(tilt)

    def on_screen(point: Point) -> Point:
        x, y = scale * side * point[0], -scale * point[1]
        return (
            at[0] + x * math.cos(turn) - y * math.sin(turn),
            at[1] + x * math.sin(turn) + y * math.cos(turn),
        )

    floor = on_screen((-40, 0)), on_screen((60, 0))
    return {name: on_screen(point) for name, point in figure.items()}, floor
