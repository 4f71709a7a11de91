"""Whose last step waits, hall by hall, and what was signed on the sheet lately."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from readiness.engine.replay.next_step import Tap
from readiness.models import Decision, Standing
from readiness.record.ladders import Ladders
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import Reading, fresh_standings, read_many
from readiness.record.two_people.taps import may_tap
from readiness.september.forms import SeenStepForm
from readiness.words.names import Names
from studio import access
from studio.models import Child, Location, Staff
from studio.people.class_lists import in_hall
from studio.people.records import all_records
from studio.people.today import site_today
from studio.people.told_apart import tell_apart

# So long a signed row stays on the sheet.
SIGNED_FOR = datetime.timedelta(days=60)


@dataclass(frozen=True)
class Row:
    """A child's last step; ``form``: None where it is not this person's to give."""

    child: Child
    drill: str
    support: int
    directors: bool
    form: SeenStepForm | None


@dataclass(frozen=True)
class HallSheet:
    hall: Location
    rows: list[Row]
    signed: list[Decision]


def sheets(
    staff: Staff, now: datetime.datetime, refused: SeenStepForm | None = None
) -> list[HallSheet]:
    """Of each hall of this person's; ``refused``: a row's form that was not taken."""
    found = []
    for hall in access.visible_locations(staff).order_by("name", "pk"):
        visible = access.visible_children(staff, site_today(now))
        here = visible.filter(pk__in=in_hall(hall.pk)).exclude(left_on__lte=hall.day_of(now))
        children = list(here.order_by("search_key", "pk"))
        tell_apart(children)
        rows = [
            _row(reading, tap, staff, refused)
            for reading in _readings(children, now, hall.day_of(now))
            for tap in last_steps(reading)
        ]
        found.append(HallSheet(hall, rows, signed_of(children, hall.day_of(now))))
    return found


def _readings(
    children: Sequence[Child], now: datetime.datetime, day: datetime.date
) -> list[Reading]:
    """Of those of whom a step that is earned waits for somebody's yes."""
    ladders = Ladders()
    fresh_standings(children, now, ladders)
    stored = Standing.objects.filter(child__in=[child.pk for child in children])
    backs = dict(stored.values_list("child", "reading__ways_back"))
    waits = [child for child in children if _a_step_waits(backs[child.pk])]
    return read_many(waits, day, ladders)


def _a_step_waits(backs: Sequence[Mapping[str, object]]) -> bool:
    return any(back["ready"] and back["tapped"] for back in backs)


def last_steps(reading: Reading) -> list[Tap]:
    """The taps that end a way back: what the open stages allow is reached with them."""
    goals = {back.drill: back.goal for back in reading.read.ways_back}
    given = Decision.objects.filter(
        child__in=reading.child.records, kind=Decision.Kind.STEP, day=reading.read.day
    )
    today = set(given.values_list("drill__key", "support")) if goals else set()
    return [
        tap
        for tap in reading.read.taps
        if tap.again
        and tap.support == goals.get(tap.drill)
        and (tap.drill, int(tap.support)) not in today
    ]


def _row(reading: Reading, tap: Tap, staff: Staff, refused: SeenStepForm | None) -> Row:
    child, day = reading.child, reading.read.day
    names = Names(child.called, reading.ladder, day)
    form = None
    if may_tap(staff, tap, child, reading.ladder.engine, day):
        about = {"drill": tap.drill, "support": int(tap.support)}
        snapshot = asdict(stage_snapshot(reading, tap.stage))
        form = SeenStepForm(
            day,
            auto_id=f"{child.uuid}-{tap.drill}-%s",
            initial={**about, **snapshot, "seen_by": staff.called, "seen_on": day},
        )
        if refused is not None and refused.is_of(str(child.uuid), tap.drill):
            form = refused
    return Row(child, names.drill(tap.drill), int(tap.support), tap.director, form)


def signed_of(children: Sequence[Child], day: datetime.date) -> list[Decision]:
    """Steps signed on the sheet: they alone say who saw it, and when."""
    steps = Decision.objects.filter(
        child__in=all_records([child.pk for child in children]),
        kind=Decision.Kind.STEP,
        day__gt=day - SIGNED_FOR,
    ).exclude(reason="")
    return list(steps.select_related("child", "by", "drill").order_by("-at", "-pk"))
