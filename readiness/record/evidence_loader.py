"""Children's records, from the database to the engine."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import QuerySet

from progression.log.lines import NewTurn
from progression.models import Attempt
from readiness.engine.replay.events import Event
from readiness.engine.tallies import Tally, Turn
from readiness.models import DayTally, Decision, Pain, Pause, PauseLift, Placing
from studio.db.prepared import prepared

ONE_DAY = datetime.timedelta(days=1)

# The engine's events for a recommendation: none. It changes nothing until it is answered.
DECIDED = [
    Decision.Kind.SIGN,
    Decision.Kind.SEND_BACK,
    Decision.Kind.EXCEPTION,
    Decision.Kind.STEP,
]


@dataclass
class ChildRecord:
    """What the engine needs of one child: tallies and events."""

    tallies: list[Tally] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)


def load(
    child_ids: Iterable[int],
    first: Mapping[int, datetime.date] | None = None,
    before: datetime.date | None = None,
) -> dict[int, ChildRecord]:
    """The records of these children, by a fixed number of queries.

    first: for a child that is in it, only the tallies from that day on. before: only those of
    earlier days.
    """
    ids, first = list(child_ids), first or {}
    records = {child: ChildRecord() for child in ids}
    oldest = min((first.get(child, datetime.date.min) for child in ids), default=datetime.date.min)
    last = datetime.date.max if before is None else before - ONE_DAY
    for row in _tallies(ids, oldest, last):
        tally = _tally(row[1:])
        if tally.day >= first.get(row[0], datetime.date.min):
            records[row[0]].tallies.append(tally)
    for child, events in load_events(ids).items():
        records[child].events.extend(events)
    return records


@prepared
def _tallies(
    children: Sequence[int], first: datetime.date, last: datetime.date
) -> "QuerySet[Any, Any]":
    rows = DayTally.objects.filter(child__in=children, day__gte=first, day__lte=last)
    return rows.values_list(*_TALLY_COLUMNS)


def load_tallies(child: int) -> list[Tally]:
    """The tallies of one child."""
    return [_tally(row[1:]) for row in _tallies([child], datetime.date.min, datetime.date.max)]


def load_events(child_ids: Iterable[int]) -> dict[int, list[Event]]:
    """What was decided and told of these children."""
    found: dict[int, list[Event]] = defaultdict(list)
    for child, event in _events(list(child_ids)):
        found[child].append(event)
    return found


def event_ids(child_ids: Iterable[int]) -> dict[int, set[str]]:
    """The ids of the same events: none is ever changed or taken away."""
    found: dict[int, set[str]] = {child: set() for child in child_ids}
    for child, event in _event_ids(list(found)):
        found[child].add(str(event))
    return found


@prepared
def _event_ids(children: Sequence[int]) -> "QuerySet[Any, Any]":
    decided = Decision.objects.filter(child__in=children, kind__in=DECIDED)
    others = (
        table.objects.filter(child__in=children).values_list("child_id", name)
        for table, name in ((Placing, "uuid"), (Pause, "uuid"), (PauseLift, "uuid"), (Pain, "id"))
    )
    return decided.values_list("child_id", "uuid").union(*others, all=True)


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
    "first_id",
    "first_clean",
    "first_graded",
)
_FIRST_ID = _TALLY_COLUMNS.index("first_id") - 1


def _tally(row: tuple[Any, ...]) -> Tally:
    """The columns after the child's stand in the order of the engine's tally."""
    values = list(row)
    values[_FIRST_ID] = str(values[_FIRST_ID])
    return Tally(*values)


def _events(ids: list[int]) -> Iterable[tuple[int, Event]]:
    for child, kind, day, at, id_, stage, drill, surface, support, director in _decided(ids):
        yield (
            child,
            Event(
                kind,
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
    for child, day, at, id_, place in _hurt(ids):
        yield child, Event("pain", day, at, str(id_), place=place)


_WHEN = ("day", "at", "uuid")


@prepared
def _decided(children: Sequence[int]) -> "QuerySet[Any, Any]":
    about = ("stage", "drill__key", "surface__key", "support", "as_director")
    rows = Decision.objects.filter(child__in=children, kind__in=DECIDED)
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
def _hurt(children: Sequence[int]) -> "QuerySet[Any, Any]":
    rows = Pain.objects.filter(child__in=children)
    return rows.values_list("child_id", "day", "at", "id", "place")


TURN_COLUMNS = (
    "child_id",
    "id",
    "drill__key",
    "surface__key",
    "support",
    "author_id",
    "day",
    "done_at",
    "graded",
    "clean",
    "value",
    "caught",
    "faults",
)


def turn_of(row: tuple[Any, ...]) -> Turn:
    """A row of TURN_COLUMNS; after the child's they stand in the order of the engine's turn."""
    values = list(row[1:])
    values[0], values[-1] = str(values[0]), tuple(values[-1])
    return Turn(*values)


def unstruck_on(child_ids: Iterable[int], day: datetime.date) -> dict[int, list[Turn]]:
    """Each child's unstruck turns of one day."""
    found: dict[int, list[Turn]] = defaultdict(list)
    for row in _unstruck(list(child_ids), day):
        found[row[0]].append(turn_of(row))
    return found


@prepared
def _unstruck(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    attempts = Attempt.objects.filter(child__in=children, day=day).unstruck()
    return attempts.values_list(*TURN_COLUMNS)


def turn_ids(child_ids: Iterable[int], day: datetime.date) -> dict[int, set[str]]:
    """The ids of the same turns: a turn is never changed."""
    found: dict[int, set[str]] = {child: set() for child in child_ids}
    for child, turn in _turn_ids(list(found), day):
        found[child].add(str(turn))
    return found


@prepared
def _turn_ids(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    attempts = Attempt.objects.filter(child__in=children, day=day).unstruck()
    return attempts.values_list("child_id", "id")


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
    )
