"""A show in two weeks and a half, with two numbers: a yes, somebody beside, a yes that waits for a
signature; all others do the easy version."""

import datetime
import zoneinfo
from collections.abc import Iterator
from functools import partial

from readiness.demo.calendar import Evening
from readiness.demo.names import GROUPS, HALLS, STAFF
from readiness.demo.pupils import Pupil
from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.scene import Scene
from readiness.models import Show, ShowNumber
from readiness.record.show import deciding
from readiness.show.page import place_in
from readiness.show.words import EASY
from studio.models import Child, Staff

SHOW, SHOES = "Lanterns along the Quay", "soft split soles, the costume’s own"
IN_DAYS = 17
# Name, class, skill.
NUMBERS = (
    ("Paper Boats", "W", "walkover-in-dance"),
    ("The Last Ferry", "S", "handspring-in-dance"),
)
REHEARSED = NUMBERS[0]
RUN_THROUGHS = 3
MINUTE = datetime.timedelta(minutes=1)


def show_steps(scene: Scene) -> Iterator[Step]:
    dancers = scene.with_story("show")
    at = scene.days_ago(30)
    yield at, "2 show", partial(_add, scene, at)
    evenings = _evenings(scene, dancers)
    for evening in evenings:
        ran = evening.ends + MINUTE
        yield ran, "2 run-through", partial(_run_through, scene, evening, dancers, ran)
    if not evenings:
        return
    last = evenings[-1]
    for pupil in dancers:
        child, by = scene.child(pupil), scene.staff(last.main)
        asked = last.ends + 90 * MINUTE
        yield asked, f"2 asked {pupil.index}", partial(_recommend, child, by, asked)
    director = scene.staff(STAFF[0].username)
    for pupil in dancers[:1]:
        signed = last.ends + 110 * MINUTE
        yield signed, "2 signed", partial(_sign, scene.child(pupil), director, signed)
    for pupil in scene.with_story("recommended-8"):
        beside = last.ends + 120 * MINUTE
        by = scene.staff(last.main)
        yield beside, "2 beside", partial(_put_beside, scene.child(pupil), by, beside)


def _evenings(scene: Scene, dancers: list[Pupil]) -> list[Evening]:
    """The last ones of the rehearsed number's class, before today."""
    code = REHEARSED[1]
    found = {
        evening
        for pupil in dancers
        for evening in pupil.evenings
        if GROUPS[evening.group].code == code and evening.day < scene.today
    }
    return sorted(found, key=lambda evening: evening.day)[-RUN_THROUGHS:]


def _add(scene: Scene, at: datetime.datetime) -> None:
    director, hall = scene.staff(STAFF[0].username), GROUPS[0].hall
    location, surface = scene.group(GROUPS[0].code).location, HALLS[hall].surface
    on = scene.today + datetime.timedelta(days=IN_DAYS)
    show = deciding.add_show(location, director, at, SHOW, on, surface, SHOES)
    for name, code, drill in NUMBERS:
        group = scene.group(code)
        deciding.add_number(show, director, at, name, group, drill, str(EASY[drill]))
    deciding.put_in_the_wings(_number(), director, at, scene.staff("ximena"))


def _number() -> ShowNumber:
    numbers = Show.objects.get().numbers.select_related("group", "drill", "show__location")
    return numbers.select_related("show__surface").get(name=REHEARSED[0])


def _run_through(
    scene: Scene, evening: Evening, dancers: list[Pupil], at: datetime.datetime
) -> None:
    """Over just before the first of these children did the skill at the end of it."""
    done = [
        datetime.datetime.fromisoformat(line.raw["at"])
        for pupil in dancers
        for line in scene.records[pupil.id].lines
        if line.evening == evening and line.raw.get("drill") == REHEARSED[2]
    ]
    zone = zoneinfo.ZoneInfo(HALLS[GROUPS[evening.group].hall].zone)
    ended = (min(done, default=evening.ends) - MINUTE).astimezone(zone)
    deciding.tell_run_through(
        _number(), scene.staff(evening.main), at, ended.time().replace(second=0, microsecond=0)
    )


def _recommend(child: Child, by: Staff, at: datetime.datetime) -> None:
    """Where the turns are not enough yet, nobody does."""
    number = _number()
    place = place_in(number, child, at)
    if place.signed_stage and place.record.met:
        deciding.recommend(number, child, by, at, place.seen)


def _sign(child: Child, by: Staff, at: datetime.datetime) -> None:
    number = _number()
    place = place_in(number, child, at)
    if place.asked is not None:
        deciding.sign(number, child, by, at, place.seen)


def _put_beside(child: Child, by: Staff, at: datetime.datetime) -> None:
    number = _number()
    place = place_in(number, child, at)
    if place.may_be_there:
        deciding.put(number, child, by, at, place.seen, "beside")
