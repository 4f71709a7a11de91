"""Twelve figures near the borders: the same each time, three of a grade, none on the edge."""

from collections import Counter
from typing import Any

import numpy as np
import pytest

from readiness.engine.eyes.figure import LIMITS, MARGIN, twelve, with_hips
from readiness.engine.eyes.regions import Regions
from tests.support.engine.records import CONTENT

RUBRICS = {rubric["picture"]: rubric for rubric in CONTENT["rubric"]}
REGIONS = {name: Regions.from_content(one["regions"]) for name, one in RUBRICS.items()}


def drawn(kind: str, seed: int) -> Any:
    return twelve(seed, [pose["angles"] for pose in RUBRICS[kind]["pose"]], REGIONS[kind])


def grade(kind: str, angles: dict[str, float]) -> int:
    whole = with_hips(angles)
    return int(REGIONS[kind].grade({name: np.float64(value) for name, value in whole.items()}))


@pytest.mark.parametrize("kind", ["sit", "line", "bridge"])
def test_twelve_are_three_of_each_grade_and_a_little_more_or_less_changes_none(kind: str) -> None:
    for seed in range(1, 40):
        figures = drawn(kind, seed)
        assert Counter(each.grade for each in figures) == {0: 3, 1: 3, 2: 3, 3: 3}
        for each in figures:
            assert REGIONS[kind].regions[each.region].grade == each.grade
            for name, value in each.angles.items():
                for by in (-MARGIN, 0, MARGIN):
                    assert grade(kind, each.angles | {name: value + by}) == each.grade
                low, high = LIMITS.get(name, (-180, 180))
                assert low <= value <= high


def test_the_same_seed_draws_the_same_twelve_and_another_one_others() -> None:
    assert drawn("sit", 2026) == drawn("sit", 2026)
    assert drawn("sit", 2026) != drawn("sit", 2027)
    # Not in the order of their grades: the place tells nothing.
    orders = {tuple(each.grade for each in drawn("sit", seed)) for seed in range(1, 20)}
    assert len(orders) == 19
