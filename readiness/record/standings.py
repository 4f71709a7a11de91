"""Where children stand: read a record, keep the reading for lists and for the floor.

``read(child, day)`` reads one child now, with everything the pages need.
``refresh_standings(children, day, ladders)`` reads children and keeps their standings.
``fresh_standings(children, now)`` gives the stored standings, read again where they are stale;
``readings(children)`` what they say.
"""

import datetime
import hashlib
import json
import uuid
import zoneinfo
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeVar

from django.db import transaction
from django.db.models import Q, QuerySet, TextField
from django.db.models.functions import Cast

from progression.models import LadderVersion
from readiness.engine.evidence import Evidence, NotSummedUpError
from readiness.engine.reading import ChildReading, read_state, with_todays_events
from readiness.engine.reading_json import as_json
from readiness.engine.replay.checkpoint import Checkpoint, as_data, from_data, make_checkpoint
from readiness.engine.replay.days import replay
from readiness.engine.replay.events import in_order
from readiness.engine.tallies import Turn, tally_turns
from readiness.models import Standing
from readiness.record.evidence_loader import ChildRecord, load, unstruck_on
from readiness.record.ladders import Ladders, NamedLadder
from studio.db.prepared import prepared
from studio.models import Child
from studio.people.class_lists import Classes, classes_of

Children = TypeVar("Children", bound="QuerySet[Any, Any]")


@dataclass(frozen=True)
class Reading:
    """One child read on a day: the engine's reading, its plain data, the evidence, the ladder,
    and what to keep of the start of that day.

    turns: those of the day. start_id: that of the standing, where one is kept at the start of
    the day; while the child has it, nothing of the days before has changed.
    """

    child: Child
    read: ChildReading
    data: dict[str, object]
    evidence: Evidence
    record: ChildRecord
    ladder: NamedLadder
    start: Checkpoint | None
    turns: Sequence[Turn]
    start_id: uuid.UUID | None = None


def local_today(
    children: Sequence[Child], now: datetime.datetime, classes: Classes | None = None
) -> dict[int, datetime.date]:
    """Today's date for each child, in the zone of the hall of their first class.

    ``classes``: the children's classes with their halls, if somebody has them already.
    """
    classes = classes or classes_of(children)
    halls = {group.location for groups in classes.values() for group in groups[:1]}
    days = {hall: hall.day_of(now) for hall in halls}
    nowhere = now.astimezone(datetime.UTC).date()
    firsts = {child.pk: classes[child.pk][:1] for child in children}
    return {pk: days[first[0].location] if first else nowhere for pk, first in firsts.items()}


def zone_of(child: Child) -> zoneinfo.ZoneInfo:
    """The zone of the hall that decides this child's days; UTC with no class."""
    group = child.classes.select_related("location").order_by("pk").first()
    return zoneinfo.ZoneInfo(group.location.zone if group else "UTC")


def read(
    child: Child,
    day: datetime.date,
    ladders: Ladders | None = None,
    record: ChildRecord | None = None,
) -> Reading:
    """Read one child during ``day`` from the whole record, which its pages show; ``record``: if
    somebody has it already."""
    record, turns = record or load([child.pk])[child.pk], unstruck_on([child.pk], day)
    return _read(child, record, turns.get(child.pk, []), day, ladders or Ladders())


def read_many(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children during ``day``, by a fixed number of queries, each from what is kept of the
    child where that reaches: the evidence then tells of as many days as a rule looks back.

    The tallies of ``day`` are folded from its turns, so that both are of the same moment
    whatever comes in meanwhile.
    """
    ladders = ladders or Ladders()
    ids = [child.pk for child in children]
    stored = load_checkpoints(children, day, ladders)
    starts = {child: each.start for child, each in stored.items() if each.start is not None}
    first = {child: start.summary.first for child, start in starts.items()}
    records, turns = load(ids, first, before=day), unstruck_on(ids, day)
    found = []
    for child in children:
        start, own = starts.get(child.pk), turns.get(child.pk, [])
        try:
            reading = _read_with(child, records[child.pk], own, day, ladders, start)
        except NotSummedUpError:
            whole = load([child.pk], before=day)[child.pk]
            reading = _read_with(child, whole, own, day, ladders)
        known = stored.get(child.pk)
        if known is not None and known.on == day:
            reading = replace(reading, start_id=known.id)
        found.append(reading)
    return found


@dataclass(frozen=True)
class StoredCheckpoint:
    """What is kept of a child at the start of ``on``: none with nothing on record before, or
    where another ladder was in force."""

    id: uuid.UUID
    on: datetime.date
    start: Checkpoint | None


def load_checkpoints(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> dict[int, StoredCheckpoint]:
    """What is kept of these children at the start of ``day``, or of an earlier one."""
    number = ladders.named_on(day).number
    found = {}
    for child, id_, on, data in _checkpoints_until([child.pk for child in children], day):
        start = from_data(data) if data and data["ladder"] == number else None
        found[child] = StoredCheckpoint(id_, on, start)
    return found


@prepared
def _checkpoints_until(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    rows = Standing.objects.filter(child__in=children, start_on__lte=day)
    return rows.values_list("child_id", "start_id", "start_on", "start")


def _read_with(
    child: Child,
    record: ChildRecord,
    turns: Sequence[Turn],
    day: datetime.date,
    ladders: Ladders,
    start: Checkpoint | None = None,
) -> Reading:
    """The same as ``_read``, from a record that ends before ``day``."""
    today = tally_turns(turns, ladders.on(day).stops)
    whole = ChildRecord([*record.tallies, *today], record.events)
    return _read(child, whole, turns, day, ladders, start)


def events_before(record: ChildRecord, day: datetime.date) -> int:
    """How many events of earlier days there are."""
    return sum(event.day < day for event in record.events)


def _read(
    child: Child,
    record: ChildRecord,
    turns: Sequence[Turn],
    day: datetime.date,
    ladders: Ladders,
    start: Checkpoint | None = None,
) -> Reading:
    """Read a child from a record, or from a start and what has come since. Raises
    NotSummedUpError if the start is not enough for it."""
    if start is not None and events_before(record, start.state.day) != start.events:
        raise NotSummedUpError("something was decided or told of an earlier day")
    evidence = Evidence(record.tallies, start.summary) if start else Evidence(record.tallies)
    named = ladders.named_on(day)
    # The fold moves the state of the start on.
    is_of_today = start is not None and start.state.day == day
    begun = replay(evidence, record.events, day, ladders.on, start.state if start else None)
    if not is_of_today:
        before = events_before(record, day)
        start = make_checkpoint(named.number, before, begun, evidence, named.engine)
    today = [event for event in in_order(record.events) if event.day == day]
    state = with_todays_events(begun, today, named.engine)
    read = read_state(state, evidence, turns, named.engine)
    data = as_json(read, str(child.uuid), named.number)
    return Reading(child, read, data, evidence, record, named, start, turns)


def digest_of(data: object) -> str:
    """SHA-256 of plain data in one fixed form, so that equal readings have equal digests."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def refresh_standings(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children and keep their standings."""
    readings = read_many(children, day, ladders)
    numbers = {reading.ladder.number for reading in readings}
    versions = {
        version.number: version.pk
        for version in LadderVersion.objects.filter(number__in=numbers).only("pk", "number")
    }
    standings = [_standing(each, day, versions[each.ladder.number]) for each in readings]
    Standing.objects.bulk_create(
        standings, update_conflicts=True, unique_fields=["child"], update_fields=UPDATE_FIELDS
    )
    pairs = zip(readings, standings, strict=True)
    return [replace(reading, start_id=standing.start_id) for reading, standing in pairs]


UPDATE_FIELDS = ["read_on", "ladder", "reading", "digest", "stale"]
UPDATE_FIELDS += ["start", "start_on", "start_id", "told_on"]


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


def make_stale(
    first_days: Mapping[int, datetime.date], event_days: Mapping[int, datetime.date]
) -> None:
    """The record of these children changed, from the given day on; ``event_days``: the
    days on which something was reported of some of them."""
    by_day: dict[datetime.date, list[int]] = defaultdict(list)
    for child, day in first_days.items():
        by_day[day].append(child)
    for day, some in by_day.items():
        standings = Standing.objects.filter(child__in=some)
        standings.filter(stale=False).update(stale=True)
        standings.filter(start_on__gt=day).update(start=None, start_on=None)
    for child, day in event_days.items():
        known = Q(told_on=None) | Q(told_on__lt=day)
        Standing.objects.filter(known, child=child).update(told_on=day)


class StandingKey(NamedTuple):
    """What tells a kept standing from another, by the names that it has there."""

    read_on: datetime.date
    digest: str
    stale: bool
    ladder: int


def fresh_standings(
    children: Sequence[Child],
    now: datetime.datetime,
    ladders: Ladders | None = None,
    classes: Classes | None = None,
) -> dict[int, StandingKey]:
    """The standings of today; those of another day or ladder, and stale ones, are read again.

    ``classes`` as for ``local_today``.
    """
    ladders = ladders or Ladders()
    days = local_today(children, now, classes)
    stored = _standing_keys(children)
    due: dict[datetime.date, list[Child]] = {}
    for child in children:
        day, standing = days[child.pk], stored.get(child.pk)
        if standing is None or not _is_current(standing, day, ladders):
            due.setdefault(day, []).append(child)
    for day, some in due.items():
        _refresh_locked(some, day, ladders)
    return _standing_keys(children) if due else stored


def _standing_keys(children: Sequence[Child]) -> dict[int, StandingKey]:
    return {
        child: StandingKey(*about) for child, *about in _shown([child.pk for child in children])
    }


@prepared
def _shown(children: Sequence[int]) -> "QuerySet[Any, Any]":
    standings = Standing.objects.filter(child__in=children)
    return standings.values_list("child_id", "read_on", "digest", "stale", "ladder__number")


def readings(children: Iterable[Child]) -> Iterator[tuple[int, StandingKey, dict[str, Any]]]:
    """The readings that are kept of these children, current or not, each with the standing that
    it is of. One at a time: hundreds at once would fill the memory, and take longer."""
    for child, *about, text in _texts([child.pk for child in children]):
        yield child, StandingKey(*about), json.loads(text)


@prepared
def _texts(children: Sequence[int]) -> "QuerySet[Any, Any]":
    standings = Standing.objects.filter(child__in=children)
    text = Cast("reading", TextField())
    return standings.values_list("child_id", "read_on", "digest", "stale", "ladder__number", text)


def _is_current(standing: StandingKey, day: datetime.date, ladders: Ladders) -> bool:
    read_today = standing.read_on == day and not standing.stale
    return read_today and standing.ladder == ladders.named_on(day).number


def _refresh_locked(children: Sequence[Child], day: datetime.date, ladders: Ladders) -> None:
    with transaction.atomic():
        refresh_standings(locked_children(children), day, ladders)


def locked_children(children: Sequence[Child]) -> list[Child]:
    """The children with their rows locked, as turns and decisions do: a reading that was taken
    before a turn can then never be kept after it."""
    return list(lock(Child.objects.filter(pk__in=[child.pk for child in children])))


def lock(children: Children) -> Children:
    """The query with the children's rows locked until the transaction ends: always in one order,
    so that two transactions never wait for each other."""
    return children.order_by("pk").select_for_update()
