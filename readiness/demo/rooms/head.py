"""What was told and given after a knock on the head (way_back.py)."""

from collections.abc import Iterator
from functools import partial

from readiness.demo.names import STAFF
from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.scene import Scene
from readiness.demo.way_back import HeadTold
from readiness.record.told import head_knocks
from studio.models import Child, Staff

CLEARED_BY = "Ilka Morvane, doctor"


def head_steps(scene: Scene) -> Iterator[Step]:
    director = scene.staff(STAFF[0].username)
    for pupil in scene.pupils:
        for told in pupil.story.head:
            act = partial(_tell, scene.child(pupil), director, told)
            yield told.at, f"2 head {pupil.index}", act


def _tell(child: Child, by: Staff, told: HeadTold) -> None:
    match told.kind:
        case "head-knock":
            head_knocks.tell_knock(child, by, told.at, told.day, elsewhere=True)
        case "head-symptom":
            head_knocks.tell_symptom(child, by, told.at, told.day)
        case "head-clearance":
            head_knocks.note_clearance(child, by, told.at, CLEARED_BY, told.day)
        case "head-step":
            said = child.guardian, told.day
            head_knocks.give_step(child, by, told.at, told.step, *said)
