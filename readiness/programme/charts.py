"""Small drawings for the programme, as SVG paths in a box of 100 by 100; each has its table."""

from collections.abc import Sequence
from dataclasses import dataclass

from readiness.engine.statistics.time_in_stage import Step


@dataclass(frozen=True)
class Drawing:
    """A line from left to right, more is higher; ``most``: what the top of the box stands for."""

    line: str
    most: int


def line_of(values: Sequence[int], most: int) -> Drawing:
    """A value a step, from 0 at the foot to ``most``."""
    width = max(len(values) - 1, 1)
    points = [
        f"{100 * at / width:.1f} {100 - 100 * value / max(most, 1):.1f}"
        for at, value in enumerate(values)
    ]
    return Drawing("M" + "L".join(points), most)


def stairs_of(steps: Sequence[Step], weeks: int) -> Drawing:
    """The share still in a stage, from all of them down, over so many weeks."""
    path = "M0 0"
    for step in steps:
        if step.weeks <= weeks:
            path += f"H{100 * step.weeks / weeks:.1f}V{100 - 100 * step.share:.1f}"
    return Drawing(path + "H100", weeks)
