"""What the halls have for stations: one was counted twice, since a barrel was bought."""

from collections.abc import Iterator, Mapping
from functools import partial

from readiness.demo.names import STAFF
from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.scene import Scene
from readiness.stations.evening.equipment import write_down

YEAR = 365
LARGE = {
    "floor-mat": 10, "soft-mat": 3, "stack-mats": 2, "wedge": 2, "firm-block": 2, "low-block": 2,
    "barrel": 1, "air-floor": 1, "lane": 2, "wall-place": 3, "floor-place": 9,
}  # fmt: skip
SMALL = {
    "floor-mat": 8, "soft-mat": 2, "stack-mats": 1, "wedge": 1, "firm-block": 1, "low-block": 1,
    "barrel": 1, "air-floor": 0, "lane": 1, "wall-place": 2, "floor-place": 8,
}  # fmt: skip


def equipment_steps(scene: Scene) -> Iterator[Step]:
    halls = sorted({group.location for group in scene.rows.people.groups}, key=lambda hall: hall.pk)
    for hall, counts in zip(halls, (LARGE, SMALL), strict=True):
        yield _count(scene, YEAR + 10, hall.pk, counts)
    yield _count(scene, 60, halls[0].pk, {"barrel": 2})


def _count(scene: Scene, days: int, hall: int, counts: Mapping[str, int]) -> Step:
    at, by = scene.days_ago(days), scene.staff(STAFF[0].username)
    location = next(g.location for g in scene.rows.people.groups if g.location_id == hall)
    return at, f"2 equipment {hall}", partial(write_down, location, counts, by, at)
