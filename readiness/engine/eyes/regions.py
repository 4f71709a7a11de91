"""The regions of a rubric: which angles are which grade."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readiness.engine.eyes.draws import Floats


@dataclass(frozen=True)
class Region:
    """A grade, and what holds there: angles over a number, under one, and from one to another.
    With no condition it holds everywhere."""

    grade: int
    over: Mapping[str, float]
    under: Mapping[str, float]
    within: Mapping[str, tuple[float, float]]

    def holds(self, angles: Mapping[str, Floats]) -> NDArray[np.bool_]:
        conditions = [
            *(angles[name] > limit for name, limit in self.over.items()),
            *(angles[name] < limit for name, limit in self.under.items()),
            *(
                (low <= angles[name]) & (angles[name] <= high)
                for name, (low, high) in self.within.items()
            ),
        ]
        return np.asarray(np.logical_and.reduce(conditions, axis=0), np.bool_)


@dataclass(frozen=True)
class Regions:
    """In the order of the ladder: the first that holds is the grade. The last has no condition,
    so that there is a grade everywhere, and only one."""

    regions: tuple[Region, ...]

    @classmethod
    def from_content(cls, rows: Sequence[Mapping[str, Any]]) -> "Regions":
        """Of the ``regions`` of a rubric in a checked ladder file."""
        return cls(
            tuple(
                Region(
                    row["grade"],
                    row.get("over", {}),
                    row.get("under", {}),
                    {name: (low, high) for name, (low, high) in row.get("within", {}).items()},
                )
                for row in rows
            )
        )

    @property
    def borders(self) -> list[tuple[str, float]]:
        """Every number that parts one region from another, with its angle."""
        found = []
        for region in self.regions:
            found += [*region.over.items(), *region.under.items()]
            found += [(name, end) for name, span in region.within.items() for end in span]
        return found

    def which(self, angles: Mapping[str, Floats]) -> NDArray[np.int_]:
        """The place of the region, counted from 0, for one set of angles or for many."""
        conditions = [region.holds(angles) for region in self.regions[:-1]]
        last = len(self.regions) - 1
        return np.asarray(np.select(conditions, list(range(last)), default=last))

    def grade(self, angles: Mapping[str, Floats]) -> NDArray[np.int_]:
        return np.array([region.grade for region in self.regions])[self.which(angles)]
