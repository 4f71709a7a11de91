"""Children's records, from the database to the engine."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import CharField, Exists, OuterRef, QuerySet, Value

from progression.log.lines import NewTurn
from progression.models import Attempt, Strike
from readiness.engine.evidence import Summary
from readiness.engine.replay.events import Event, EventKind
from readiness.engine.tallies import FaultCounts, Tally, Turn
from readiness.models import (
    DayTally,
    Decision,
    FaultTally,
    Growing,
    NoHands,
    Pain,
    PainGone,
    Pause,
    PauseLift,
    Placing,
)
from readiness.record.ladders import Ladders
from studio.db.prepared import prepared
from studio.people.consents import NOT_ASKED, YES, consent_changes

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
    """What the engine needs of one child: tallies, events, and faults that carry."""

    tallies: list[Tally] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    faults: FaultCounts = field(default_factory=Counter)


def load(
    child_ids: Iterable[int],
    ladders: Ladders,
    summed_up: Mapping[int, Summary] | None = None,
    before: datetime.date | None = None,
) -> dict[int, ChildRecord]:
    """The records of these children, by a fixed number of queries.

    summed_up: for a child that is in it, only the tallies that are not summed up there. before:
    only those of earlier days.
    """
    ids, summed_up = list(child_ids), summed_up or {}
    records = {child: ChildRecord() for child in ids}
    last = datetime.date.max if before is None else before - ONE_DAY
    for row in _rows_not_summed_up(ids, summed_up, last):
        child, drill, day = row[0], row[1], row[_DAY]
        if child not in summed_up or day >= summed_up[child].first_of(drill):
            records[child].tallies.append(_tally(row[1:]))
    for child, events in load_events(ids).items():
        records[child].events.extend(events)
    carrying = ladders.carrying
    firsts = [summed_up[child].first if child in summed_up else datetime.date.min for child in ids]
    since = min(firsts, default=datetime.date.min)
    for child, drill, day, fault, count in _faults(ids, carrying, since, last) if carrying else ():
        records[child].faults[drill, day, fault] = count
    return records


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


def load_events(child_ids: Iterable[int]) -> dict[int, list[Event]]:
    """What was decided and told of these children."""
    found: dict[int, list[Event]] = defaultdict(list)
    for child, event in _events(list(child_ids)):
        found[child].append(event)
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
    "first_id",
    "first_clean",
    "first_graded",
)
_DAY = _TALLY_COLUMNS.index("day")
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
    for child, day, at, id_, kind, place in _told(ids):
        yield child, Event(kind, day, at, str(id_), place=place)
    yield from _hands(ids)


def _hands(ids: list[int]) -> Iterator[tuple[int, Event]]:
    """What families answered about a coach's hands."""
    for child, changes in consent_changes(ids):
        for change in changes:
            kind: EventKind = "consent-yes" if change.answer == YES else "consent-no"
            asked = change.answer != NOT_ASKED
            yield child, Event(kind, change.day, change.at, f"hands {change.day}", asked=asked)


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
def _told(children: Sequence[int]) -> "QuerySet[Any, Any]":
    """What hurts, what is gone, who grows fast, and who wants no hands, in one query."""
    nowhere = Value("", CharField())
    struck = Strike.objects.filter(attempt_id=OuterRef("pk"))
    first, *others = (
        reports.filter(child__in=children).values_list(
            "child_id", "day", "at", "id", Value(kind, CharField()), place
        )
        for kind, reports, place in (
            ("pain", Pain.objects.all(), "place"),
            ("pain-gone", PainGone.objects.all(), "place"),
            ("growing", Growing.objects.filter(ends=False), nowhere),
            ("growing-over", Growing.objects.filter(ends=True), nowhere),
            ("no-hands", NoHands.objects.filter(~Exists(struck)), nowhere),
        )
    )
    return first.union(*others, all=True)


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
    return attempts.with_graded_now().values_list(*TURN_COLUMNS)


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
