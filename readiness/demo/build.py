"""Makes the whole invented studio in an empty database."""

import copy
import datetime
import tomllib
from collections.abc import Callable, Mapping
from functools import partial
from itertools import chain
from pathlib import Path
from random import Random
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from progression.models import Attempt, LadderVersion
from readiness.demo.calendar import evenings, local_day
from readiness.demo.history import Rows, store_history
from readiness.demo.names import STAFF
from readiness.demo.people import People, make_children, make_meetings, make_people
from readiness.demo.pupils import PLANS, make_pupils
from readiness.demo.recent_weeks import Step, send_recent
from readiness.demo.rooms.scene import Scene
from readiness.demo.rooms.steps import room_steps
from readiness.demo.simulation import World, simulate
from readiness.models import Decision
from readiness.record import ladder_loading
from readiness.record.ladders import NamedLadder
from readiness.record.standings import fresh_standings
from studio.access import may_decide, may_grade
from studio.models import Child

WEEKS = 104
CHILDREN = len(PLANS)
# What is newer goes through the program's own intake.
RECENT = datetime.timedelta(weeks=6)
LADDER_CHANGED_AGO = datetime.timedelta(weeks=3)
LADDER_FILE = Path(settings.BASE_DIR) / "fixtures" / "ladder.toml"

CHANGE = ("5.front-support", 25)
CHANGE_REASON = "Front support: 25 seconds with the hips in line tell us more than 30 that sag."


def build(
    now: datetime.datetime,
    seed: int,
    report: Callable[[str], None],
    weeks: int = WEEKS,
    children: int = CHILDREN,
) -> dict[str, int]:
    """Fill an empty database and count what was made.

    The same seed and the same now give the same records. ``report`` is given each step in words.
    """
    today = min(local_day(0, now), local_day(1, now))
    report(_("Making the halls, the classes and the people."))
    evenings_by_class = evenings(seed, now, weeks)
    pupils = make_pupils(seed, now, weeks, children, evenings_by_class)
    rng = Random(f"{seed} studio")
    with transaction.atomic():
        people = make_people(now, rng)
        child_rows = make_children(pupils, people, today, rng)
        meetings = list(chain.from_iterable(evenings_by_class.values()))
        rows = Rows(people, child_rows, make_meetings(meetings, people))
        ladder = _load_ladder(now - datetime.timedelta(weeks=weeks + 2))
    changed_from, changed = today - LADDER_CHANGED_AGO, _changed(ladder.content)
    ladders = _ladders(ladder.content, changed_from, changed)
    world = _make_world(people, ladders, now)
    report(_("Letting the children learn."))
    records = {pupil.id: simulate(pupil, world, seed) for pupil in pupils}
    since = today - RECENT
    report(_("Writing down their turns."))
    with transaction.atomic():
        store_history(records, since, rows)
    report(_("Sending in the last six weeks, class by class."))
    change = _ladder_change(changed, changed_from, people)
    rooms = room_steps(Scene(rows, pupils, records, now, today))
    send_recent(records, since, rows, now, [change, *rooms], report)
    report(_("Reading where everybody stands."))
    fresh_standings(list(Child.objects.order_by("pk")), now)
    return {
        "children": len(child_rows),
        "turns": Attempt.objects.count(),
        "decisions": Decision.objects.count(),
    }


def _ladders(
    first: dict[str, Any], changed_from: datetime.date, changed: dict[str, Any]
) -> dict[datetime.date, NamedLadder]:
    """The ladder of the first day, and the changed one, by the days from which they count."""
    return {datetime.date.min: NamedLadder(1, first), changed_from: NamedLadder(2, changed)}


def _make_world(
    people: People, ladders: Mapping[datetime.date, NamedLadder], now: datetime.datetime
) -> World:
    staff = people.staff
    return World(
        ladders=ladders,
        staff={name: person.pk for name, person in staff.items()},
        graders=frozenset(name for name, person in staff.items() if may_grade(person)),
        directors=[name for name, person in staff.items() if may_decide(person)],
        now=now,
    )


def _load_ladder(at: datetime.datetime) -> LadderVersion:
    content = tomllib.loads(LADDER_FILE.read_text(encoding="utf-8"))
    return ladder_loading.load(content, now=at, from_day=at.date())


def _changed(content: Mapping[str, Any]) -> dict[str, Any]:
    """The ladder with one small number changed."""
    code, at_least = CHANGE
    changed = copy.deepcopy(dict(content))
    for stage in changed["stage"]:
        for gate in stage.get("gate", []):
            if gate["code"] == code:
                gate["at_least"] = at_least
    return changed


def _ladder_change(content: dict[str, Any], from_day: datetime.date, people: People) -> Step:
    at = datetime.datetime.combine(from_day, datetime.time(6), datetime.UTC)
    director = people.staff[STAFF[0].username]
    load = partial(
        ladder_loading.load, content, now=at, from_day=from_day, reason=CHANGE_REASON, by=director
    )
    return at, "0 ladder", load
