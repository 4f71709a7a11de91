"""Where children stand: read a record, keep the reading for lists and for the floor.

``read(child, day)`` reads one child now, with everything the pages need.
``stand(children, day, ladders)`` reads children and keeps their standings.
``current(children, now)`` gives the kept standings, read anew where they are of another day.
"""

import datetime
import hashlib
import json
import zoneinfo
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Prefetch, Q, prefetch_related_objects

from progression.models import LadderVersion
from readiness.engine.events import Event, in_order
from readiness.engine.evidence import Evidence, NotSummedUpError
from readiness.engine.kept import Start, as_data, from_data, make_start
from readiness.engine.reading import ChildReading, as_json, during, read_state
from readiness.engine.stages import fold
from readiness.engine.tallies import Turn
from readiness.ladders import Ladders, NamedLadder
from readiness.models import Standing
from readiness.record import Record, load, load_events, unstruck_on
from studio.models import Child, ClassGroup


@dataclass(frozen=True)
class Reading:
    """One child read on a day: the engine's reading, its plain data, the evidence, the ladder,
    and what to keep of the start of that day."""

    child: Child
    read: ChildReading
    data: dict[str, object]
    evidence: Evidence
    record: Record
    ladder: NamedLadder
    start: Start | None


def local_today(children: Sequence[Child], now: datetime.datetime) -> dict[int, datetime.date]:
    """Today's date for each child, in the zone of a hall where the child has class."""
    prefetch_related_objects(children, with_halls())
    return {child.pk: _day_of(list(child.classes.all()), now) for child in children}


def with_halls() -> "Prefetch[Any]":
    """Children's classes and their halls, in one query."""
    return Prefetch("classes", ClassGroup.objects.select_related("location"))


def _day_of(classes: Sequence[ClassGroup], now: datetime.datetime) -> datetime.date:
    if not classes:
        return now.astimezone(datetime.UTC).date()
    return min(classes, key=lambda group: group.pk).location.day_of(now)


def zone_of(child: Child) -> zoneinfo.ZoneInfo:
    """The zone of the hall that decides this child's days; UTC with no class."""
    group = child.classes.select_related("location").order_by("pk").first()
    return zoneinfo.ZoneInfo(group.location.zone if group else "UTC")


def read(child: Child, day: datetime.date, ladders: Ladders | None = None) -> Reading:
    """Read one child during ``day`` from the whole record, which its pages show."""
    record, turns = load([child.pk])[child.pk], unstruck_on([child.pk], day)
    return _read(child, record, turns.get(child.pk, []), day, ladders or Ladders())


def read_many(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children during ``day``, by a fixed number of queries, each from what is kept of the
    child where that reaches: the evidence then tells of as many days as a rule looks back."""
    ladders = ladders or Ladders()
    ids = [child.pk for child in children]
    starts = kept_starts(children, day, ladders)
    first = {child: start.summary.first for child, start in starts.items()}
    records, turns = load(ids, first), unstruck_on(ids, day)
    found = []
    for child in children:
        record, start = records[child.pk], starts.get(child.pk)
        own = turns.get(child.pk, [])
        try:
            found.append(_read(child, record, own, day, ladders, start))
        except NotSummedUpError:
            found.append(read(child, day, ladders))
    return found


def kept_starts(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> dict[int, Start]:
    """What is kept of these children and still counts on ``day``: the ladder is the same."""
    kept = Standing.objects.filter(child__in=children, start_on__lte=day)
    rows = kept.values_list("child_id", "start")
    starts = {child: from_data(data) for child, data in rows if data is not None}
    number = ladders.named_on(day).number
    return {child: start for child, start in starts.items() if start.ladder == number}


def events_before(record: Record, day: datetime.date) -> int:
    """How many events of earlier days there are."""
    return sum(event.day < day for event in record.events)


def _read(
    child: Child,
    record: Record,
    turns: Sequence[Turn],
    day: datetime.date,
    ladders: Ladders,
    start: Start | None = None,
) -> Reading:
    """Read a child from a record, or from a start and what has come since. Raises
    NotSummedUpError if the start is not enough for it."""
    if start is not None and events_before(record, start.state.day) != start.events:
        raise NotSummedUpError("something was decided or told of an earlier day")
    evidence = Evidence(record.tallies, start.summary) if start else Evidence(record.tallies)
    named = ladders.named_on(day)
    # The fold moves the state of the start on.
    is_of_today = start is not None and start.state.day == day
    begun = fold(evidence, record.events, day, ladders.on, start.state if start else None)
    if not is_of_today:
        before = events_before(record, day)
        start = make_start(named.number, before, begun, evidence, named.engine)
    today = [event for event in in_order(record.events) if event.day == day]
    state = during(begun, today, named.engine)
    read = read_state(state, evidence, turns, named.engine)
    data = as_json(read, str(child.uuid), named.number)
    return Reading(child, read, data, evidence, record, named, start)


def digest_of(data: object) -> str:
    """SHA-256 of plain data in one fixed form, so that equal readings have equal digests."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def stand(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children and keep their standings."""
    readings = read_many(children, day, ladders)
    numbers = {reading.ladder.number for reading in readings}
    versions = {
        version.number: version.pk
        for version in LadderVersion.objects.filter(number__in=numbers).only("pk", "number")
    }
    Standing.objects.bulk_create(
        [_standing(reading, day, versions[reading.ladder.number]) for reading in readings],
        update_conflicts=True,
        unique_fields=["child"],
        update_fields=KEPT,
    )
    return readings


KEPT = ["read_on", "ladder", "reading", "digest", "stale", "start", "start_on", "told_on"]


def _standing(reading: Reading, day: datetime.date, ladder: int) -> Standing:
    return Standing(
        child=reading.child,
        read_on=day,
        ladder_id=ladder,
        reading=reading.data,
        digest=digest_of(reading.data),
        stale=False,
        start=as_data(reading.start) if reading.start else None,
        start_on=day,
        told_on=max((event.day for event in reading.record.events), default=None),
    )


@dataclass(frozen=True)
class Begun:
    """A child at the start of a day, with the day's events so far."""

    start: Start
    events: list[Event]


def begin_day(children: Sequence[Child], day: datetime.date, ladders: Ladders) -> dict[int, Begun]:
    """Those of the children for whom the start of ``day`` is kept, made now where it is due;
    not those of whom a later day's is, nor those with nothing on record before."""
    kept = _starts_on(children, day)
    due = [child for child in children if child.pk not in kept]
    if due:
        stand(due, day, ladders)
        kept |= _starts_on(due, day)
    number = ladders.named_on(day).number
    starts = {
        child: from_data(start)
        for child, (start, start_on, _) in kept.items()
        if start is not None and start_on == day and start["ladder"] == number
    }
    told = [child for child in starts if kept[child][2] is not None and kept[child][2] >= day]
    events = load_events(told) if told else {}
    return {child: Begun(start, _on(events.get(child, []), day)) for child, start in starts.items()}


def _starts_on(children: Sequence[Child], day: datetime.date) -> dict[int, tuple[Any, Any, Any]]:
    """What is kept at the start of ``day`` or of a later one: (start, start_on, told_on)."""
    rows = Standing.objects.filter(child__in=children, start_on__gte=day)
    found = rows.values_list("child_id", "start", "start_on", "told_on")
    return {child: about for child, *about in found}  # type: ignore[misc]


def _on(events: Iterable[Event], day: datetime.date) -> list[Event]:
    return [event for event in in_order(list(events)) if event.day == day]


def make_stale(first_days: Mapping[int, datetime.date], told: Mapping[int, datetime.date]) -> None:
    """The record of these children changed, from the given day on; ``told``: the days on which
    something was told of some of them."""
    by_day: dict[datetime.date, list[int]] = defaultdict(list)
    for child, day in first_days.items():
        by_day[day].append(child)
    for day, some in by_day.items():
        standings = Standing.objects.filter(child__in=some)
        standings.filter(stale=False).update(stale=True)
        standings.filter(start_on__gt=day).update(start=None, start_on=None)
    for child, day in told.items():
        known = Q(told_on=None) | Q(told_on__lt=day)
        Standing.objects.filter(known, child=child).update(told_on=day)


def current(
    children: Sequence[Child], now: datetime.datetime, ladders: Ladders | None = None
) -> dict[int, Standing]:
    """The standings of today; those of another day or ladder, and stale ones, are read anew."""
    ladders = ladders or Ladders()
    days = local_today(children, now)
    kept = _kept(children)
    due: dict[datetime.date, list[Child]] = {}
    for child in children:
        day, standing = days[child.pk], kept.get(child.pk)
        if standing is None or not _is_current(standing, day, ladders):
            due.setdefault(day, []).append(child)
    for day, some in due.items():
        _stand_locked(some, day, ladders)
    return _kept(children) if due else kept


def _kept(children: Sequence[Child]) -> dict[int, Standing]:
    """What lists show of the standings: not what is kept to read on from."""
    shown = ("child_id", "read_on", "reading", "digest", "stale", "ladder__number")
    standings = Standing.objects.select_related("ladder").only(*shown)
    return standings.in_bulk([child.pk for child in children], field_name="child_id")


def _is_current(standing: Standing, day: datetime.date, ladders: Ladders) -> bool:
    read_today = standing.read_on == day and not standing.stale
    return read_today and standing.ladder.number == ladders.named_on(day).number


def read_for_class(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> list[Reading]:
    """Read the children of a class during its day. Whoever opens it first keeps what the day
    begins with, so that no turn has to."""
    begun = _starts_on(children, day)
    if all(child.pk in begun for child in children):
        return read_many(children, day, ladders)
    read = {reading.child.pk: reading for reading in _stand_locked(children, day, ladders)}
    return [read[child.pk] for child in children]


def _stand_locked(children: Sequence[Child], day: datetime.date, ladders: Ladders) -> list[Reading]:
    """Read with the children's rows locked, as turns and decisions do: a reading that was
    taken before a turn can then never be kept after it."""
    with transaction.atomic():
        rows = Child.objects.filter(pk__in=[child.pk for child in children])
        locked = list(rows.order_by("pk").select_for_update())
        return stand(locked, day, ladders)
