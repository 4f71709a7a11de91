"""An evidence hour in the coming week, and a row of the September sheet signed."""

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
from readiness.record.decisions import give_step
from readiness.september.forms import SeenStepForm
from readiness.september.sheet import Row, sheets

WEEK = datetime.timedelta(weeks=1)


def planned_steps(scene: Scene) -> Iterator[Step]:
    yield scene.now, "4 hour", partial(_plan_hour, scene)
    yield scene.now, "5 september", partial(_sign_a_row, scene)


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


def _sign_a_row(scene: Scene) -> None:
    """Of two rows that wait one is signed, on the form of the page."""
    director = scene.staff(STAFF[0].username)
    rows = [row for sheet in sheets(director, scene.now) for row in sheet.rows if row.form]
    if len(rows) > 1:
        _sign(scene, rows[-1])


def _sign(scene: Scene, row: Row) -> None:
    shown = row.form
    assert shown is not None
    data = {name: shown[name].value() for name in shown.fields}
    form = SeenStepForm(shown.today, data)
    if form.is_valid():
        director, drill = scene.staff(STAFF[0].username), form.cleaned_data["drill"]
        about = director, form.snapshot(), scene.now, form.reason()
        give_step(row.child, drill, row.support, *about)
