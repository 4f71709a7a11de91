"""Children's records, from the database to the engine."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from progression.models import Attempt
from readiness.engine.events import Event
from readiness.engine.tallies import Tally, Turn
from readiness.models import DayTally, Decision, Pain, Pause, PauseLift, Placing

# The engine's events for a recommendation: none. It changes nothing until it is answered.
DECIDED = [
    Decision.Kind.SIGN,
    Decision.Kind.SEND_BACK,
    Decision.Kind.EXCEPTION,
    Decision.Kind.STEP,
]


@dataclass
class Record:
    """What the engine needs of one child: tallies and events."""

    tallies: list[Tally] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)


def load(
    child_ids: Iterable[int], first: Mapping[int, datetime.date] | None = None
) -> dict[int, Record]:
    """The records of these children, by a fixed number of queries.

    first: for a child that is in it, only the tallies from that day on.
    """
    ids, first = list(child_ids), first or {}
    records = {child: Record() for child in ids}
    rows = DayTally.objects.filter(child__in=ids)
    if all(child in first for child in ids):
        rows = rows.filter(day__gte=min(first.values(), default=datetime.date.min))
    for row in rows.values_list(*_TALLY_COLUMNS):
        tally = _tally(row[1:])
        if tally.day >= first.get(row[0], datetime.date.min):
            records[row[0]].tallies.append(tally)
    for child, events in load_events(ids).items():
        records[child].events.extend(events)
    return records


def load_tallies(child: int, span: tuple[datetime.date, datetime.date]) -> list[Tally]:
    """The tallies of one child from a day to a day, both with."""
    rows = DayTally.objects.filter(child=child, day__range=span).values_list(*_TALLY_COLUMNS)
    return [_tally(row[1:]) for row in rows]


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
_FIRST_ID = _TALLY_COLUMNS.index("first_id") - 1


def _tally(row: tuple[Any, ...]) -> Tally:
    """The columns after the child's stand in the order of the engine's tally."""
    values = list(row)
    values[_FIRST_ID] = str(values[_FIRST_ID])
    return Tally(*values)


def _events(ids: list[int]) -> Iterable[tuple[int, Event]]:
    yield from _decisions(ids)
    for placing in Placing.objects.filter(child__in=ids).select_related("surface"):
        yield (
            placing.child_id,
            Event(
                "place",
                placing.day,
                placing.at,
                str(placing.uuid),
                stage=str(placing.stage),
                surface=placing.surface.key,
                director=True,
            ),
        )
    for pause in Pause.objects.filter(child__in=ids):
        yield pause.child_id, Event("pause", pause.day, pause.at, str(pause.uuid))
    for lift in PauseLift.objects.filter(child__in=ids):
        yield lift.child_id, Event("lift", lift.day, lift.at, str(lift.uuid), director=True)
    for pain in Pain.objects.filter(child__in=ids):
        yield pain.child_id, Event("pain", pain.day, pain.at, str(pain.id), place=pain.place)


def _decisions(ids: list[int]) -> Iterable[tuple[int, Event]]:
    decisions = Decision.objects.filter(child__in=ids, kind__in=DECIDED)
    for decision in decisions.select_related("drill", "surface"):
        yield (
            decision.child_id,
            Event(
                decision.kind,  # type: ignore[arg-type]
                decision.day,
                decision.at,
                str(decision.uuid),
                stage=decision.stage,
                drill=decision.drill.key if decision.drill else "",
                surface=decision.surface.key if decision.surface else "",
                support=decision.support if decision.support is not None else 3,
                director=decision.as_director,
            ),
        )


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
    attempts = Attempt.objects.filter(child__in=list(child_ids), day=day).unstruck()
    found: dict[int, list[Turn]] = defaultdict(list)
    for row in attempts.values_list(*TURN_COLUMNS):
        found[row[0]].append(turn_of(row))
    return found
