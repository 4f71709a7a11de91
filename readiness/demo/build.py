"""Making the whole invented studio in an empty database."""

import copy
import datetime
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from progression.models import Attempt, LadderVersion
from readiness.demo.calendar import evenings, local_day
from readiness.demo.history import Records, keep_history
from readiness.demo.names import STAFF
from readiness.demo.people import People, make_children, make_meetings, make_people
from readiness.demo.pupils import PLANS, pupils
from readiness.demo.recent_weeks import Step, send_lately
from readiness.demo.simulation import World, live
from readiness.models import Decision
from readiness.record import ladder_loading
from readiness.record.ladders import NamedLadder
from readiness.record.standings import fresh_standings
from studio.access import may_decide, may_grade
from studio.models import Child, Staff

Tell = Callable[[str], None]

WEEKS = 104
CHILDREN = len(PLANS)
THROUGH_THE_DOOR = datetime.timedelta(weeks=6)
LADDER_CHANGED = datetime.timedelta(weeks=3)
LADDER_FILE = Path(settings.BASE_DIR) / "fixtures" / "ladder.toml"

CHANGE = ("5.front-support", 25)
CHANGE_REASON = "Front support: 25 seconds with the hips in line tell us more than 30 that sag."


@dataclass(frozen=True)
class Built:
    """How much there is."""

    children: int
    turns: int
    decisions: int


def build(
    now: datetime.datetime,
    seed: int,
    tell: Tell,
    weeks: int = WEEKS,
    children: int = CHILDREN,
) -> Built:
    """Fill an empty database; the same seed and the same now give the same records."""
    chance = Random(f"{seed} studio")
    today = min(local_day(0, now), local_day(1, now))
    tell(_("Making the halls, the classes and the people."))
    evenings_by_class = evenings(seed, now, weeks)
    cast = pupils(seed, now, weeks, children, evenings_by_class)
    with transaction.atomic():
        people = make_people(now, chance)
        rows = make_children(cast, people, today)
        every = [evening for each in evenings_by_class.values() for evening in each]
        records = Records(people, rows, make_meetings(every, people))
        ladder = _load_ladder(now - datetime.timedelta(weeks=weeks + 2))
    changed_from = today - LADDER_CHANGED
    world = _world(people, ladder.content, changed_from, now)
    tell(_("Letting the children learn."))
    lives = {pupil.id: live(pupil, world, seed) for pupil in cast}
    since = today - THROUGH_THE_DOOR
    tell(_("Writing down their turns."))
    with transaction.atomic():
        keep_history(lives, since, records)
    tell(_("Sending in the last six weeks, class by class."))
    change = _ladder_change(ladder.content, changed_from, people)
    send_lately(lives, since, records, now, change, _progress(tell))
    tell(_("Reading where everybody stands."))
    fresh_standings(list(Child.objects.order_by("pk")), now)
    return Built(len(rows), Attempt.objects.count(), Decision.objects.count())


def _world(
    people: People, content: Mapping[str, Any], changed_from: datetime.date, now: datetime.datetime
) -> World:
    staff: Mapping[str, Staff] = people.staff
    return World(
        ladders={
            datetime.date.min: NamedLadder(1, content),
            changed_from: NamedLadder(2, _changed(content)),
        },
        staff={name: each.pk for name, each in staff.items()},
        graders=frozenset(name for name, each in staff.items() if may_grade(each)),
        directors=[person.username for person in STAFF if may_decide(staff[person.username])],
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


def _ladder_change(content: Mapping[str, Any], from_day: datetime.date, people: People) -> Step:
    at = datetime.datetime.combine(from_day, datetime.time(6), datetime.UTC)
    director = people.staff[STAFF[0].username]

    def change() -> None:
        ladder_loading.load(
            _changed(content), now=at, from_day=from_day, reason=CHANGE_REASON, by=director
        )

    return at, "0 ladder", change


def _progress(tell: Tell) -> Callable[[int, int], None]:
    def hear(done: int, total: int) -> None:
        if done * 4 // total > (done - 1) * 4 // total:
            tell(f"  {done * 100 // total} %")

    return hear
