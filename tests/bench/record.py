"""A studio with a record of a given length, made in one go, the same at every making.

The turns are those that the floor call would have stored, and fold by the project's own fold; only
the reading after each of them is left out: the children are read once, on their last class day.
tests/test_bench.py holds it to what the project itself leaves.
"""

import datetime
import json
import tomllib
import uuid
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from random import Random
from typing import Any

from django.db import connection, transaction

from progression.log.lines import NewTurn
from progression.log.logbook import Keys
from progression.models import Attempt, LadderVersion, Surface
from readiness.engine.tallies import fault_counts
from readiness.models import Placing
from readiness.record import day_tallies
from readiness.record.evidence_loader import engine_turn
from readiness.record.ladder_loading import load
from readiness.record.ladders import Ladders
from readiness.record.standings import refresh_standings
from studio.models import Child, ClassGroup, Location, Meeting, Staff, Studio
from studio.people.names import fold_name
from tests.support.cast import give_consent

LADDER_FILE = Path(__file__).resolve().parent.parent.parent / "fixtures" / "ladder.toml"
# A Wednesday, in the hour of class.
NOW = datetime.datetime(2026, 3, 4, 17, 30, tzinfo=datetime.UTC)
IN_A_CLASS = 20
DRILLS_A_DAY = 5
SURFACE = "sprung-dance-floor"
STARTS_AT = datetime.time(17)
AT_ONCE = 10


@dataclass(frozen=True)
class Shape:
    """How much there is: ``days`` class days of each child with ``a_day`` turns on each,
    ``every`` days apart. The last one lies a day before now. ``placed``: so many days before now
    each child was placed; within the last week, so that the state of today is that of a short
    record."""

    children: int
    days: int
    a_day: int
    every: int
    placed: int = 6

    @property
    def turns(self) -> int:
        return self.children * self.days * self.a_day

    def told(self) -> str:
        return (
            f"{self.turns} turns ({self.children} children, {self.days} class days, "
            f"{self.a_day} turns on each)"
        )


@dataclass(frozen=True)
class Kid:
    """A child with what the turns need to know; ``drills`` are those that they train."""

    number: int
    row: Child
    coach: Staff
    meetings: Mapping[datetime.date, Meeting]
    drills: Sequence[Mapping[str, Any]]
    chance: Random


def class_days(shape: Shape, today: datetime.date) -> list[datetime.date]:
    """The days with turns, oldest first."""
    ages = range(1 + (shape.days - 1) * shape.every, 0, -shape.every)
    return [today - datetime.timedelta(days=age) for age in ages]


def make(shape: Shape, now: datetime.datetime = NOW) -> None:
    """Fill an empty, migrated database."""
    content = tomllib.loads(LADDER_FILE.read_text(encoding="utf-8"))
    today = now.date()
    days = class_days(shape, today)
    early = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
    with transaction.atomic():
        version = load(content, now=early, from_day=early.date())
        kids = list(_people(shape, today, days, version))
    ladders = Ladders()
    for start in range(0, len(kids), AT_ONCE):
        with transaction.atomic():
            some = kids[start : start + AT_ONCE]
            for kid in some:
                keep(list(turns_of(kid, days, shape.a_day)), ladders)
            refresh_standings([kid.row for kid in some], days[-1], ladders)


def _people(
    shape: Shape, today: datetime.date, days: Sequence[datetime.date], version: LadderVersion
) -> Iterator[Kid]:
    """One hall with its director, and classes of twenty with a coach each."""
    Studio.objects.create(name="Bench")
    hall = Location.objects.create(name="Hall", zone="UTC")
    director = _staff("director", Staff.Role.DIRECTOR, hall)
    for number in range(0, shape.children, IN_A_CLASS):
        coach = _staff(f"coach{number // IN_A_CLASS}", Staff.Role.COACH, hall)
        group = ClassGroup.objects.create(
            name=f"Class {number // IN_A_CLASS}", location=hall, weekday=2, starts_at=STARTS_AT
        )
        group.staff.add(coach)
        rows = [Meeting(group=group, date=day, starts_at=STARTS_AT) for day in [*days, today]]
        meetings = {each.date: each for each in Meeting.objects.bulk_create(rows, 400)}
        for nth in range(number, min(number + IN_A_CLASS, shape.children)):
            stage = 1 + nth % 7
            child = _child(nth, group)
            _place(child, stage, today - datetime.timedelta(shape.placed), director, version)
            yield Kid(nth, child, coach, meetings, trained(version.content, stage), Random(nth))


def _staff(name: str, role: str, hall: Location) -> Staff:
    staff = Staff.objects.create(username=name, first_name=name.capitalize(), role=role)
    staff.locations.add(hall)
    return staff


def _child(number: int, group: ClassGroup) -> Child:
    name = f"Child{number:03} Bench"
    child = Child.objects.create(
        name=name, name_key=fold_name(name), birth_year=2016, birth_month=4
    )
    child.classes.add(group)
    give_consent(child)
    return child


def _place(child: Child, stage: int, day: datetime.date, by: Staff, version: LadderVersion) -> None:
    at = datetime.datetime.combine(day, datetime.time(18), datetime.UTC)
    Placing.objects.create(
        child=child, stage=stage, surface=Surface.objects.get(key=SURFACE), reason="seen",
        by=by, at=at, day=at.date(), ladder=version,
    )  # fmt: skip


def trained(content: Mapping[str, Any], stage: int) -> list[Mapping[str, Any]]:
    """The last ten drills that are open at a stage."""
    return [drill for drill in content["drill"] if drill["stage"] <= stage][-2 * DRILLS_A_DAY :]


def turns_of(kid: Kid, days: Sequence[datetime.date], a_day: int) -> Iterator[NewTurn]:
    """The turns of one child; each day a part of the drills, in turns."""
    count = 0
    for nth, day in enumerate(days):
        starts = datetime.datetime.combine(day, STARTS_AT, datetime.UTC)
        for place in range(a_day):
            drill = kid.drills[(nth * DRILLS_A_DAY + place % DRILLS_A_DAY) % len(kid.drills)]
            at = starts + datetime.timedelta(seconds=60 * place + kid.number % 60)
            count += 1
            yield _turn(kid, drill, at, kid.meetings[day], count)


def _turn(
    kid: Kid, drill: Mapping[str, Any], at: datetime.datetime, meeting: Meeting, count: int
) -> NewTurn:
    unique = kid.number << 32 | count
    return NewTurn(
        id=time_ordered(at, unique),
        child=kid.row,
        drill=drill["key"],
        surface=SURFACE,
        day=meeting.date,
        done_at=at,
        support=kid.chance.choice((3, 2)) if drill["support_logged"] else 0,
        author=kid.coach,
        sender=kid.coach,
        graded=True,
        source=Attempt.Source.FLOOR,
        received_at=at + datetime.timedelta(seconds=2),
        digest=f"{unique:064x}",
        meeting=meeting,
        device="tablet-000000000000",
        device_time=at,
        clock={"page": "0123456789abcdef", "mono": 60_000 + count, "offset": 12},
        **_outcome(drill, kid.chance),
    )


def _outcome(drill: Mapping[str, Any], chance: Random) -> dict[str, Any]:
    if drill["measure"] != "clean":
        return {"value": float(chance.randint(0, min(30, drill["most"])))}
    if chance.random() < 0.8:
        return {"clean": True}
    return {"clean": False, "caught": chance.random() < 0.02}


def time_ordered(at: datetime.datetime, unique: int) -> uuid.UUID:
    """A UUID of version 7 (RFC 9562, 5.7) from a time and a number of one's own."""
    milliseconds = int(at.timestamp() * 1000)
    return uuid.UUID(int=milliseconds << 80 | 7 << 76 | 2 << 62 | unique)


def keep(turns: Sequence[NewTurn], ladders: Ladders) -> None:
    """Store turns of a child, of days that nothing was stored of, with their tallies."""
    keys, child = Keys.load(), turns[0].child.pk
    store(turns, keys)
    days: day_tallies.DayTurns = defaultdict(list)
    for turn in turns:
        days[child, turn.drill, turn.day].append(engine_turn(turn))
    tallies = day_tallies.tallies_of(days, ladders)
    faults = fault_counts(turn for day in days.values() for turn in day)
    day_tallies.insert(child, chain.from_iterable(tallies.values()), faults, keys)


def store(turns: Sequence[NewTurn], keys: Keys) -> None:
    """What progression.log.logbook.store_turns stores, several times as fast."""
    fields = Attempt._meta.concrete_fields
    table = Attempt._meta.db_table
    columns = ", ".join(f'"{field.column}"' for field in fields)
    rows = ([_plain(v) for v in _row(turn, keys)] for turn in turns)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            places = ", ".join(["%s"] * len(fields))
            cursor.executemany(f"INSERT INTO {table} ({columns}) VALUES ({places})", list(rows))


def _row(turn: NewTurn, keys: Keys) -> list[object]:
    """In the order of the columns."""
    named = {
        "drill_id": keys.drills[turn.drill],
        "surface_id": keys.surfaces[turn.surface],
        "child_id": turn.child.pk,
        "meeting_id": turn.meeting.pk if turn.meeting else None,
        "author_id": turn.author.pk,
        "sender_id": turn.sender.pk,
        "source": str(turn.source),
    }
    names = [field.attname for field in Attempt._meta.concrete_fields]
    return [named[name] if name in named else getattr(turn, name) for name in names]


def _plain(value: object) -> object:
    """A value as both databases take it in their own form of it."""
    match value:
        case uuid.UUID():
            return value.hex
        case datetime.datetime():
            naive = value.replace(tzinfo=None)
            return f"{naive} Z" if connection.vendor == "postgresql" else str(naive)
        case datetime.date():
            return str(value)
        case tuple() | dict():
            return json.dumps(value)
    return value
