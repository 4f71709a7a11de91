"""What was said of children: family on the staff, "not tonight", lessons elsewhere."""

import datetime
from collections.abc import Iterator
from functools import partial

from readiness.demo.names import STAFF
from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.scene import Scene
from readiness.record.told.on_the_page import note_elsewhere, note_not_tonight
from studio.people.family import say_family

# By their stories (pupils.py).
OF_FAMILY, NOT_TONIGHT = "less-support", "recommended-8"
ELSEWHERE, PRIVATE = "placing", "ready-4"


def said_steps(scene: Scene) -> Iterator[Step]:
    amadea, bastiao = (scene.staff(person.username) for person in STAFF[:2])
    for pupil in scene.with_story(OF_FAMILY)[:1]:
        at = scene.days_ago(20)
        yield at, "2 family", partial(say_family, scene.child(pupil), bastiao, amadea, at)
    for pupil in scene.with_story(NOT_TONIGHT):
        evening = scene.last_evening(pupil)
        at, by = evening.starts + datetime.timedelta(minutes=10), scene.staff(evening.main)
        yield at, "2 not tonight", partial(note_not_tonight, scene.child(pupil), by, at)
    for story, kind, days in ((ELSEWHERE, "elsewhere", 24), (PRIVATE, "private", 10)):
        for pupil in scene.with_story(story)[:1]:
            child, at = scene.child(pupil), scene.days_ago(days)
            by = scene.staff(scene.last_evening(pupil).main)
            act = partial(note_elsewhere, child, by, at, kind, child.guardian, ends=False)
            yield at, f"2 {kind}", act
