"""Children's records, from the database to the engine."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import (
    CharField,
    Exists,
    IntegerField,
    OuterRef,
    QuerySet,
    TextField,
    Value,
)
from django.db.models.functions import Cast

from progression.log.lines import NewTurn
from progression.models import Attempt, Strike
from readiness.engine.evidence import Summary
from readiness.engine.replay.events import Event, EventKind
from readiness.engine.tallies import FaultCounts, Tally, Turn, tally_turns
from readiness.models import (
    Clearance,
    DayTally,
    Decision,
    FaultTally,
    Growing,
    HeadKnock,
    NoHands,
    Pain,
    PainGone,
    Pause,
    PauseLift,
    Placing,
    StepGiven,
    Symptom,
)
from readiness.record.ladders import Ladders
from readiness.record.log_stream import dashed
from readiness.record.merged.pauses import united
from studio.db.prepared import prepared
from studio.people.consents import NOT_ASKED, YES, consent_changes
from studio.people.records import merges_of, of_several, records_of

ONE_DAY = datetime.timedelta(days=1)

# The engine's events for a recommendation: none. It changes nothing until it is answered.
DECIDED: dict[str, EventKind] = {
    Decision.Kind.SIGN: "sign",
    Decision.Kind.SEND_BACK: "send-back",
    # A stage that was signed closes when it is sent back.
    Decision.Kind.CLOSE: "send-back",
    Decision.Kind.EXCEPTION: "exception",
    Decision.Kind.STEP: "step",
}


@dataclass
class ChildRecord:
    """What the engine needs of one child: tallies, events, and faults that carry; ``keys``: those
    of the child's records, for ``child__in``."""

    tallies: list[Tally] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    faults: FaultCounts = field(default_factory=Counter)
    keys: list[int] = field(default_factory=list)


def load(
    child_ids: Iterable[int],
    ladders: Ladders,
    summed_up: Mapping[int, Summary] | None = None,
    before: datetime.date | None = None,
    records: Mapping[int, int] | None = None,
) -> dict[int, ChildRecord]:
    """What is known of these children, by a fixed number of queries; two more if any of them has
    several records.

    summed_up: for a child that is in it, only the tallies that are not summed up there. before:
    only those of earlier days. records: as ``records_of`` says them, if somebody has asked.
    """
    ids, summed_up = list(child_ids), summed_up or {}
    records = records or records_of(ids)
    found = {child: ChildRecord() for child in ids}
    for key, child in records.items():
        found[child].keys.append(key)
    keys = list(records)
    last = datetime.date.max if before is None else before - ONE_DAY
    known = {key: summed_up[child] for key, child in records.items() if child in summed_up}
    tallies: dict[int, list[Tally]] = {key: [] for key in keys}
    for row in _rows_not_summed_up(keys, known, last):
        key, drill, day = row[0], row[1], row[_DAY]
        if key not in known or day >= known[key].first_of(drill):
            tallies[key].append(_tally(row[1:]))
    for child, together in _folded_together(tallies, records, ladders).items():
        found[child].tallies = together
    for child, events in _load_events(records, ladders).items():
        found[child].events = events
    carrying = ladders.carrying
    firsts = [known[key].first if key in known else datetime.date.min for key in keys]
    since = min(firsts, default=datetime.date.min)
    for key, drill, day, fault, count in _faults(keys, carrying, since, last) if carrying else ():
        found[records[key]].faults[drill, day, fault] += count
    return found


def _folded_together(
    tallies: Mapping[int, list[Tally]], records: Mapping[int, int], ladders: Ladders
) -> dict[int, list[Tally]]:
    """By child, from the tallies by record. A day on which two records of a child have turns at
    the same drill is folded again from both: a second fault there may be a stop sign."""
    found = {child: tallies[child] for child in records.values()}
    for child, own in of_several(records).items():
        places = Counter(place for key in own for place in {(t.drill, t.day) for t in tallies[key]})
        shared = {place for place, times in places.items() if times > 1}
        rest = [t for key in own for t in tallies[key] if (t.drill, t.day) not in shared]
        found[child] = rest + _folded(own, shared, ladders)
    return found


def _folded(
    keys: Sequence[int], places: Collection[tuple[str, datetime.date]], ladders: Ladders
) -> list[Tally]:
    drills, days = {drill for drill, _ in places}, {day for _, day in places}
    if not places:
        return []
    by_place: dict[tuple[str, datetime.date], list[Turn]] = defaultdict(list)
    rows = Attempt.objects.filter(child__in=keys, drill__key__in=drills)
    rows = rows.filter(day__range=(min(days), max(days))).unstruck().with_graded_now()
    for turn in map(turn_of, rows.values_list(*TURN_COLUMNS)):
        by_place[turn.drill, turn.day].append(turn)
    return [
        tally
        for place in sorted(places)
        for tally in tally_turns(by_place[place], ladders.on(place[1]).stops)
    ]


@prepared
def _faults(
    children: Sequence[int], faults: Sequence[str], first: datetime.date, last: datetime.date
) -> "QuerySet[Any, Any]":
    rows = FaultTally.objects.filter(child__in=children, day__gte=first, day__lte=last)
    return rows.filter(fault__in=faults).values_list(
        "child_id", "drill__key", "day", "fault", "count"
    )


def _rows_not_summed_up(
    ids: Sequence[int], summed_up: Mapping[int, Summary], last: datetime.date
) -> Iterator[tuple[Any, ...]]:
    """Some rows too many. Most children need the same days, and more of the same few drills;
    those who need more days are loaded by themselves."""
    usual = max((before.first for before in summed_up.values()), default=datetime.date.max)
    most = {child: before for child, before in summed_up.items() if before.first == usual}
    others = {child: before for child, before in summed_up.items() if child not in most}
    yield from _tallies([child for child in ids if child not in summed_up], datetime.date.min, last)
    yield from _tallies(list(most), usual, last)
    drills = {drill for before in most.values() for drill in before.longer}
    until = usual - ONE_DAY
    yield from _tallies_of(list(most), sorted(drills), _first_of_all(most.values(), usual), until)
    yield from _tallies(list(others), _first_of_all(others.values(), usual), last)


def _first_of_all(summaries: Iterable[Summary], usual: datetime.date) -> datetime.date:
    days = (day for before in summaries for day in (before.first, *before.longer.values()))
    return min(days, default=usual)


@prepared
def _tallies(
    children: Sequence[int], first: datetime.date, last: datetime.date
) -> "QuerySet[Any, Any]":
    rows = DayTally.objects.filter(child__in=children, day__gte=first, day__lte=last)
    return rows.values_list(*_TALLY_COLUMNS)


@prepared
def _tallies_of(
    children: Sequence[int], drills: Sequence[str], first: datetime.date, last: datetime.date
) -> "QuerySet[Any, Any]":
    rows = DayTally.objects.filter(child__in=children, day__gte=first, day__lte=last)
    return rows.filter(drill__key__in=drills).values_list(*_TALLY_COLUMNS)


def load_tallies(child: int) -> list[Tally]:
    """The tallies of one child."""
    return [_tally(row[1:]) for row in _tallies([child], datetime.date.min, datetime.date.max)]


def load_events(child_ids: Iterable[int], ladders: Ladders) -> dict[int, list[Event]]:
    """What was decided and told of these children."""
    return _load_events(records_of(list(child_ids)), ladders)


def _load_events(records: Mapping[int, int], ladders: Ladders) -> dict[int, list[Event]]:
    of_records: dict[int, list[tuple[int, Event]]] = defaultdict(list)
    for key, event in _events(list(records)):
        of_records[records[key]].append((key, event))
    for child, event in _hands(records):
        of_records[child].append((child, event))
    found = defaultdict(list, {c: [event for _, event in own] for c, own in of_records.items()})
    several = of_several(records)
    merges = merges_of([key for own in several.values() for key in own]) if several else []
    for child, own in several.items():
        found[child] = list(united(of_records[child], own, merges, ladders.on))
    return found


_TALLY_COLUMNS = (
    "child_id",
    "drill__key",
    "surface__key",
    "support",
    "author_id",
    "day",
    "turns",
    "clean",
    "graded",
    "graded_clean",
    "best",
    "best_graded",
    "second_graded",
    "total",
    "stop_signs",
    "first_at",
    # As text: nothing else is made of it.
    Cast("first_id", TextField()),
    "first_clean",
    "first_graded",
)
_DAY = _TALLY_COLUMNS.index("day")
_FIRST_ID = Tally._fields.index("first_id")


def _tally(row: tuple[Any, ...]) -> Tally:
    """The columns after the child's stand in the order of the engine's tally."""
    values = list(row)
    values[_FIRST_ID] = dashed(values[_FIRST_ID])
    return Tally._make(values)


def _events(ids: list[int]) -> Iterable[tuple[int, Event]]:
    for child, kind, day, at, id_, stage, drill, surface, support, director in _decided(ids):
        yield (
            child,
            Event(
                DECIDED[kind],
                day,
                at,
                str(id_),
                stage=stage,
                drill=drill or "",
                surface=surface or "",
                support=support if support is not None else 3,
                director=director,
            ),
        )
    for child, day, at, id_, stage, surface in _placed(ids):
        about = {"stage": str(stage), "surface": surface}
        yield child, Event("place", day, at, str(id_), **about, director=True)
    for child, day, at, id_ in _paused(ids):
        yield child, Event("pause", day, at, str(id_))
    for child, day, at, id_ in _lifted(ids):
        yield child, Event("lift", day, at, str(id_), director=True)
    for child, day, at, id_, kind, place, on, step in _told(ids):
        yield child, Event(kind, day, at, str(id_), place=place, on=on, step=step)


def _hands(records: Mapping[int, int]) -> Iterator[tuple[int, Event]]:
    """What families answered about a coach's hands."""
    for child, changes in consent_changes(records):
        for change in changes:
            kind: EventKind = "consent-yes" if change.answer == YES else "consent-no"
            asked = change.answer != NOT_ASKED
            yield child, Event(kind, change.day, change.at, f"hands {change.day}", asked=asked)


_WHEN = ("day", "at", "uuid")


@prepared
def _decided(children: Sequence[int]) -> "QuerySet[Any, Any]":
    about = ("stage", "drill__key", "surface__key", "support", "as_director")
    rows = Decision.objects.filter(child__in=children, kind__in=list(DECIDED))
    return rows.values_list("child_id", "kind", *_WHEN, *about)


@prepared
def _placed(children: Sequence[int]) -> "QuerySet[Any, Any]":
    rows = Placing.objects.filter(child__in=children)
    return rows.values_list("child_id", *_WHEN, "stage", "surface__key")


@prepared
def _paused(children: Sequence[int]) -> "QuerySet[Any, Any]":
    return Pause.objects.filter(child__in=children).values_list("child_id", *_WHEN)


@prepared
def _lifted(children: Sequence[int]) -> "QuerySet[Any, Any]":
    return PauseLift.objects.filter(child__in=children).values_list("child_id", *_WHEN)


@prepared
def _told(children: Sequence[int]) -> "QuerySet[Any, Any]":
    """What hurts, what is gone, who grows fast, who wants no hands, and what is of a head knock,
    in one query."""
    nowhere, no_step = Value("", CharField()), Value(0, IntegerField())
    struck = Strike.objects.filter(attempt_id=OuterRef("pk"))
    # A strike that came before its pain was read without it, and takes nothing back.
    taken_back = struck.filter(received_at__gte=OuterRef("received_at"))
    reports = [
        rows.filter(child__in=children).values_list(
            "child_id", "day", "at", "id", Value(kind, CharField()), place, on, no_step
        )
        for kind, rows, place, on in (
            ("pain", Pain.objects.filter(~Exists(taken_back)), "place", "day"),
            ("pain-gone", PainGone.objects.all(), "place", "day"),
            ("growing", Growing.objects.filter(ends=False), nowhere, "day"),
            ("growing-over", Growing.objects.filter(ends=True), nowhere, "day"),
            ("no-hands", NoHands.objects.filter(~Exists(struck)), nowhere, "day"),
            ("head-knock", HeadKnock.objects.filter(~Exists(taken_back)), nowhere, "on"),
        )
    ]
    after_knocks = [
        table.objects.filter(knock__child__in=children).values_list(
            "knock__child_id", "day", "at", "id", Value(kind, CharField()), nowhere, on, step
        )
        for kind, table, on, step in (
            ("head-symptom", Symptom, "on", no_step),
            ("head-clearance", Clearance, "on", no_step),
            ("head-step", StepGiven, "said_on", "step"),
        )
    ]
    first, *others = reports
    return first.union(*others, *after_knocks, all=True)


TURN_COLUMNS = (
    "child_id",
    "id",
    "drill__key",
    "surface__key",
    "support",
    "author_id",
    "day",
    "done_at",
    "graded_now",
    "clean",
    "value",
    "caught",
    "faults",
    "meeting_id",
)
_FAULTS = TURN_COLUMNS.index("faults") - 1


def turn_of(row: tuple[Any, ...]) -> Turn:
    """A row of TURN_COLUMNS; after the child's they stand in the order of the engine's turn."""
    values = list(row[1:])
    values[0], values[_FAULTS] = str(values[0]), tuple(values[_FAULTS])
    return Turn._make(values)


def unstruck_on(records: Mapping[int, int], day: datetime.date) -> dict[int, list[Turn]]:
    """Each child's unstruck turns of one day; ``records`` as ``records_of`` says them."""
    found: dict[int, list[Turn]] = defaultdict(list)
    for row in _unstruck(list(records), day):
        found[records[row[0]]].append(turn_of(row))
    return found


@prepared
def _unstruck(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    attempts = Attempt.objects.filter(child__in=children, day=day).unstruck()
    return attempts.with_graded_now().values_list(*TURN_COLUMNS)


def turns_between(
    records: Mapping[int, int], first: datetime.date, last: datetime.date
) -> dict[int, list[Turn]]:
    """Each child's unstruck turns on days from ``first`` to ``last``, both with; ``records`` as
    ``records_of`` says them. One query, by the index attempt_child_day."""
    found: dict[int, list[Turn]] = defaultdict(list)
    rows = Attempt.objects.filter(child__in=list(records), day__range=(first, last)).unstruck()
    for row in rows.with_graded_now().values_list(*TURN_COLUMNS):
        found[records[row[0]]].append(turn_of(row))
    return found


def engine_turn(turn: NewTurn) -> Turn:
    return Turn(
        id=str(turn.id),
        drill=turn.drill,
        surface=turn.surface,
        support=turn.support,
        author=turn.author.pk,
        day=turn.day,
        at=turn.done_at,
        graded=turn.graded,
        clean=turn.clean,
        value=turn.value,
        caught=turn.caught,
        faults=turn.faults,
        meeting=turn.meeting.pk if turn.meeting else None,
    )
