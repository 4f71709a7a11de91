"""Where children stand: read a record, store the reading for lists and for the floor.

``read(child, day)`` reads one child now, with everything the pages need; ``read_whole`` several.
``refresh_standings(children, day, ladders)`` reads children and stores their standings.
``fresh_standings(children, now)`` gives what lists show, read again where it is stale;
``fresh_packs(children, day, ladders, make)`` each child's part of a class's pack.
"""

import datetime
import hashlib
import json
import uuid
from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple, TypeVar

from django.db import transaction
from django.db.models import Q, QuerySet, TextField, Value
from django.utils.translation import get_language

from progression.models import LadderVersion
from readiness.engine.evidence import EMPTY_SUMMARY, Evidence, NotSummedUpError
from readiness.engine.growing import graded_anew
from readiness.engine.reading import ChildReading, read_state, with_todays_events
from readiness.engine.reading_json import as_json
from readiness.engine.replay.checkpoint import Checkpoint, as_data, from_data, make_checkpoint
from readiness.engine.replay.days import replay
from readiness.engine.replay.events import in_order
from readiness.engine.replay.next_step import untapped_steps
from readiness.engine.replay.state import ChildState
from readiness.engine.tallies import Turn, tally_turns
from readiness.models import Standing
from readiness.record.evidence_loader import ChildRecord, load, unstruck_on
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.list_facts import ListFacts, Reviews, latest_reviews, list_facts
from studio.db.prepared import prepared
from studio.models import Child
from studio.people.class_lists import Classes
from studio.people.records import records_of, roots_of
from studio.people.today import local_today

Children = TypeVar("Children", bound="QuerySet[Any, Any]")


@dataclass(frozen=True)
class Reading:
    """One child read on a day: the engine's reading, the evidence, the ladder, the turns of the
    day, and what to store of its start.
    """

    child: Child
    read: ChildReading
    evidence: Evidence
    record: ChildRecord
    ladder: NamedLadder
    start: Checkpoint | None
    turns: Sequence[Turn]

    @cached_property
    def data(self) -> dict[str, object]:
        """The engine's reading as plain data."""
        return as_json(self.read, str(self.child.uuid), self.ladder.number)

    @property
    def given_today(self) -> set[tuple[str, int]]:
        """Drills and the less support to which somebody said yes today: it counts from the next
        day."""
        today = (e for e in self.record.events if e.kind == "step" and e.day == self.read.day)
        return {(event.drill, int(event.support)) for event in today}


def read(
    child: Child,
    day: datetime.date,
    ladders: Ladders | None = None,
    record: ChildRecord | None = None,
) -> Reading:
    """Read one child during ``day`` from the whole record, which its pages show; ``record``: if
    somebody has it already."""
    ladders = ladders or Ladders()
    record = record or load([child.pk], ladders)[child.pk]
    turns = unstruck_on(dict.fromkeys(record.keys, child.pk), day)
    return _read(child, record, turns.get(child.pk, []), day, ladders)


def read_whole(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children during ``day``, each with the evidence of the whole record, by a fixed number
    of queries. Where there is a checkpoint, only the days since are replayed."""
    ladders = ladders or Ladders()
    ids = [child.pk for child in children]
    starts, keys = load_checkpoints(ids, day, ladders), records_of(ids)
    records, turns = load(ids, ladders, records=keys), unstruck_on(keys, day)
    readings = []
    for child in children:
        record, start = records[child.pk], starts.get(child.pk)
        if start is not None and events_before(record, start.state.day) != start.events:
            start = None
        evidence = Evidence(record.tallies, faults=record.faults)
        since = start.state if start else None
        state = replay(evidence, record.events, day, ladders.on, since)
        own = turns.get(child.pk, [])
        readings.append(_read_today(child, record, own, ladders.named_on(day), evidence, state))
    return readings


def read_many(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children during ``day``, by a fixed number of queries, each from the checkpoint where
    there is one: the evidence then holds as many days as a rule looks back.

    The tallies of ``day`` are made from its turns, so that both are of the same moment whatever
    comes in meanwhile.
    """
    ladders = ladders or Ladders()
    ids = [child.pk for child in children]
    starts = load_checkpoints(ids, day, ladders)
    summed_up = {child: start.summary for child, start in starts.items()}
    keys = records_of(ids)
    records, turns = load(ids, ladders, summed_up, day, keys), unstruck_on(keys, day)
    readings = []
    for child in children:
        start, own = starts.get(child.pk), turns.get(child.pk, [])
        try:
            reading = _read_with(child, records[child.pk], own, day, ladders, start)
        except NotSummedUpError:
            whole = load([child.pk], ladders, before=day)[child.pk]
            reading = _read_with(child, whole, own, day, ladders)
        readings.append(reading)
    return readings


def load_checkpoints(
    children: Sequence[int], day: datetime.date, ladders: Ladders
) -> dict[int, Checkpoint]:
    """What is stored of these children at the start of ``day``, or of an earlier one: not of
    those with nothing on record before, nor where another ladder was in force."""
    number = ladders.named_on(day).number
    return {
        child: from_data(start)
        for child, start in _starts_until(children, day)
        if start and start["ladder"] == number
    }


@prepared
def _starts_until(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    rows = Standing.objects.filter(child__in=children, start_on__lte=day)
    return rows.values_list("child_id", "start")


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
    whole = replace(record, tallies=[*record.tallies, *today])
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
    before = start.summary if start else EMPTY_SUMMARY
    evidence = Evidence(record.tallies, before, record.faults)
    named = ladders.named_on(day)
    # The replay moves the state of the checkpoint on.
    is_of_today = start is not None and start.state.day == day
    at_start = replay(evidence, record.events, day, ladders.on, start.state if start else None)
    if not is_of_today:
        events = events_before(record, day)
        start = make_checkpoint(named.number, events, at_start, evidence, named.engine)
    return _read_today(child, record, turns, named, evidence, at_start, start)


def _read_today(
    child: Child,
    record: ChildRecord,
    turns: Sequence[Turn],
    named: NamedLadder,
    evidence: Evidence,
    at_start: ChildState,
    start: Checkpoint | None = None,
) -> Reading:
    """The day that begins with this state; ``start``: to store with it."""
    today = [event for event in in_order(record.events) if event.day == at_start.day]
    state = with_todays_events(at_start, today, named.engine)
    evidence = graded_anew(evidence, state, named.engine)
    read = read_state(state, evidence, turns, named.engine)
    return Reading(child, read, evidence, record, named, start, turns)


def digest_of(data: object) -> str:
    """SHA-256 of plain data in one fixed form, so that equal readings have equal digests."""
    return _digest(_in_one_form(data))


def _in_one_form(data: object) -> str:
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def refresh_standings(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> None:
    """Read children and store their standings."""
    _store(read_many(children, day, ladders), day, {})


def _store(readings: Sequence[Reading], day: datetime.date, packs: Mapping[int, str]) -> None:
    """``packs``: the parts of a pack by child; empty for who is not in it."""
    numbers = {reading.ladder.number for reading in readings}
    versions = {
        version.number: version.pk
        for version in LadderVersion.objects.filter(number__in=numbers).only("pk", "number")
    }
    reviews = latest_reviews({key: each.child.pk for each in readings for key in each.record.keys})
    standings = [
        Standing(
            ladder_id=versions[reading.ladder.number],
            pack=packs.get(reading.child.pk, ""),
            **facts_of(reading, reviews[reading.child.pk])._asdict(),
            **_columns(reading, day),
        )
        for reading in readings
    ]
    Standing.objects.bulk_create(
        standings, update_conflicts=True, unique_fields=["child"], update_fields=UPDATE_FIELDS
    )


def facts_of(reading: Reading, reviews: Reviews) -> ListFacts:
    """What lists show of a reading; ``reviews``: the child's latest."""
    read, ladder = reading.read, reading.ladder.engine
    untapped = untapped_steps(read.state, ladder, reading.record.events)
    return list_facts(read, reviews, untapped, reading.given_today)


UPDATE_FIELDS = ["read_on", "ladder", "reading", "digest", "stale", "reader"]
UPDATE_FIELDS += ["start", "start_on", "told_on"]
UPDATE_FIELDS += [*ListFacts._fields, "pack", "pack_language"]


def _columns(reading: Reading, day: datetime.date) -> dict[str, Any]:
    data = _in_one_form(reading.data)
    return {
        "child": reading.child,
        "read_on": day,
        # Written as the text that was made for the digest: to make it takes as long as to read.
        "reading": Value(data, TextField()),
        "digest": _digest(data),
        "stale": False,
        "reader": None,
        "start": as_data(reading.start) if reading.start else None,
        "start_on": day,
        # The end of a season, with which an answer ends, may lie ahead.
        "told_on": max((e.day for e in reading.record.events if e.day <= day), default=None),
        "pack_language": get_language() or "",
    }


def make_stale(
    first_days: Mapping[int, datetime.date], event_days: Mapping[int, datetime.date]
) -> None:
    """The record of these children changed, from the given day on; ``event_days``: the
    days on which something was reported of some of them. Any record of a child names it."""
    by_day: dict[datetime.date, list[int]] = defaultdict(list)
    for child, day in first_days.items():
        by_day[day].append(child)
    for day, some in by_day.items():
        standings = Standing.objects.filter(child__in=roots_of(some))
        unnoticed = Q(stale=False) | Q(reader__isnull=False)
        standings.filter(unnoticed).update(stale=True, reader=None)
        standings.filter(start_on__gt=day).update(start=None, start_on=None)
    told: dict[datetime.date, list[int]] = defaultdict(list)
    for child, day in event_days.items():
        told[day].append(child)
    for day, some in told.items():
        known = Q(told_on=None) | Q(told_on__lt=day)
        Standing.objects.filter(known, child__in=roots_of(some)).update(told_on=day)


def records_changed(children: Collection[int]) -> None:
    """These have other records than before: nothing stored of them holds. See AFTER_MERGE."""
    standings = Standing.objects.filter(child__in=children)
    standings.update(stale=True, reader=None, start=None, start_on=None)


def consents_changed(days: Mapping[int, datetime.date]) -> None:
    """What was answered about hands-on spotting, by child with the day: see AFTER_CONSENTS."""
    list(lock(Child.objects.filter(pk__in=days)))
    make_stale(days, days)


class StandingRow(NamedTuple):
    """What is stored of a child for lists."""

    read_on: datetime.date
    stale: bool
    ladder: int
    facts: ListFacts

    def is_current(self, day: datetime.date, ladders: Ladders) -> bool:
        """Of that day, under the ladder of that day, with all that has come in."""
        was_read = self.read_on == day and not self.stale and self.facts.stage != ""
        return was_read and self.ladder == ladders.named_on(day).number


def fresh_standings(
    children: Sequence[Child],
    now: datetime.datetime,
    ladders: Ladders | None = None,
    classes: Classes | None = None,
) -> dict[int, StandingRow]:
    """The standings of today; those of another day or ladder, and stale ones, are read again.

    ``classes`` as for ``local_today``.
    """
    ladders = ladders or Ladders()
    days = local_today(children, now, classes)
    stored = _standing_rows(children)
    due: dict[datetime.date, list[Child]] = defaultdict(list)
    for child in children:
        row, day = stored.get(child.pk), days[child.pk]
        if row is None or not row.is_current(day, ladders):
            due[day].append(child)
    for day, some in due.items():
        _read_and_store(some, day, ladders)
    return _standing_rows(children) if due else stored


def _standing_rows(children: Sequence[Child]) -> dict[int, StandingRow]:
    standings = Standing.objects.filter(child__in=[child.pk for child in children])
    columns = ("child_id", "read_on", "stale", "ladder__number", *ListFacts._fields)
    return {
        child: StandingRow(read_on, stale, ladder, ListFacts(*facts))
        for child, read_on, stale, ladder, *facts in standings.values_list(*columns)
    }


def fresh_packs(
    children: Sequence[Child],
    day: datetime.date,
    ladders: Ladders,
    make_pack: Callable[[Reading], str],
) -> dict[int, str]:
    """The children's parts of a pack of ``day``: as stored, where nothing has come in since;
    the others are read, made and stored. Where a later day was read, nothing is stored."""
    packs, over = _stored_packs(children, day, ladders)
    due = [child for child in children if child.pk not in {*packs, *over}]
    if due:
        packs |= _read_and_store(due, day, ladders, make_pack)
    readings = read_many([child for child in children if child.pk in over], day, ladders)
    return packs | {reading.child.pk: make_pack(reading) for reading in readings}


def _read_and_store(
    children: Sequence[Child],
    day: datetime.date,
    ladders: Ladders,
    make_pack: Callable[[Reading], str] | None = None,
) -> dict[int, str]:
    """Read children and store their standings; their parts of a pack, if they are made.

    Turns wait while their children's rows are locked, on SQLite while anything is. So the children
    are read before; of whom something came in meanwhile, or nothing was stored yet, again after.
    """
    reader, known = _begin_reading(children)
    readings = {each.child.pk: each for each in read_many(known, day, ladders)}
    packs = {pk: make_pack(each) for pk, each in readings.items()} if make_pack else {}
    with transaction.atomic():
        locked = locked_children(children)
        unchanged = {*_read_by([child.pk for child in locked], reader)}
        rest = [child for child in locked if child.pk not in unchanged]
        # Somebody else may have made them in the meantime.
        stored = _stored_packs(rest, day, ladders)[0] if make_pack else {}
        again = read_many([child for child in rest if child.pk not in stored], day, ladders)
        readings |= {each.child.pk: each for each in again}
        if make_pack:
            packs |= {each.child.pk: make_pack(each) for each in again}
        due = [readings[child.pk] for child in locked if child.pk not in stored]
        _store(due, day, packs)
    return packs | stored


def _begin_reading(children: Sequence[Child]) -> tuple[uuid.UUID, list[Child]]:
    """A mark on the children's standings, and which of them have one."""
    reader = uuid.uuid4()
    with transaction.atomic():
        locked = locked_children(children)
        Standing.objects.filter(child__in=locked).update(stale=True, reader=reader)
    marked = {*_read_by([child.pk for child in locked], reader)}
    return reader, [child for child in locked if child.pk in marked]


def _read_by(children: Sequence[int], reader: uuid.UUID) -> "QuerySet[Any, Any]":
    return Standing.objects.filter(child__in=children, reader=reader).values_list(
        "child_id", flat=True
    )


def _stored_packs(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> tuple[dict[int, str], set[int]]:
    """Those that can be sent as they are; and of whom a later day than ``day`` was read."""
    packs, over = {}, set()
    about = day, False, ladders.named_on(day).number, get_language() or ""
    for child, pack, *stored in _pack_rows([child.pk for child in children]):
        if stored[0] > day:
            over.add(child)
        elif pack and tuple(stored) == about:
            packs[child] = pack
    return packs, over


@prepared
def _pack_rows(children: Sequence[int]) -> "QuerySet[Any, Any]":
    columns = ("child_id", "pack", "read_on", "stale", "ladder__number", "pack_language")
    return Standing.objects.filter(child__in=children).values_list(*columns)


def locked_children(children: Sequence[Child]) -> list[Child]:
    """The children with their rows locked, as turns and decisions do: a reading that was taken
    before a turn can then never be kept after it."""
    return list(lock(Child.objects.filter(pk__in=[child.pk for child in children])))


def lock(children: Children) -> Children:
    """The query with the children's rows locked until the transaction ends: always in one order,
    so that two transactions never wait for each other."""
    return children.order_by("pk").select_for_update()
