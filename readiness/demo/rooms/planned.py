"""An evidence hour in the coming week."""

import datetime
from collections.abc import Iterator
from functools import partial

from readiness.demo.names import GROUPS, STAFF
from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.scene import Scene
from readiness.hour.candidates import MOST_CHILDREN
from readiness.hour.forms import key_of
from readiness.hour.page import Planner, planner
from readiness.hour.plan import plan_hour

WEEK = datetime.timedelta(weeks=1)


def planned_steps(scene: Scene) -> Iterator[Step]:
    yield scene.now, "4 hour", partial(_plan_hour, scene)


def _plan_hour(scene: Scene) -> None:
    """On the evening that could decide most; none where nobody lacks only turns."""
    director = scene.staff(STAFF[0].username)
    first = planner(director, scene.now, "")
    coming = [each for each in first.evenings if scene.today < each.day <= scene.today + WEEK]
    shown = [planner(director, scene.now, key_of(each)) for each in coming]
    best = max(shown, key=_decides, default=first)
    chosen, evening = best.open_to[:MOST_CHILDREN], best.evening
    if evening is None or not chosen:
        return
    group = next(group for group in GROUPS if group.name == evening.group.name)
    graders = scene.staff(group.lead), scene.staff(group.second)
    plan_hour(evening.group, evening.day, chosen, graders, director, scene.now)


def _decides(shown: Planner) -> float:
    return sum(each.chance or 0 for each in shown.open_to[:MOST_CHILDREN])
