"""All that happens in the rooms, each at its time."""

from collections.abc import Iterator

from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.equipment import equipment_steps
from readiness.demo.rooms.head import head_steps
from readiness.demo.rooms.incidents import incident_steps
from readiness.demo.rooms.planned import planned_steps
from readiness.demo.rooms.said import said_steps
from readiness.demo.rooms.scene import Scene
from readiness.demo.rooms.show import show_steps
from readiness.demo.rooms.spotters import spotter_steps


def room_steps(scene: Scene) -> Iterator[Step]:
    yield from equipment_steps(scene)
    yield from spotter_steps(scene)
    yield from said_steps(scene)
    yield from head_steps(scene)
    yield from show_steps(scene)
    yield from incident_steps(scene)
    yield from planned_steps(scene)
