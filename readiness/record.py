"""Children's records, from the database to the engine."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from progression.models import Attempt, Strike
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


def load(child_ids: Iterable[int]) -> dict[int, Record]:
    """The records of these children, by a fixed number of queries."""
    ids = list(child_ids)
    records = {child: Record() for child in ids}
    for row in DayTally.objects.filter(child__in=ids).values_list(*_TALLY_COLUMNS):
        records[row[0]].tallies.append(_tally(row[1:]))
    for child, event in _events(ids):
        records[child].events.append(event)
    return records


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


def turns_of(attempts: Iterable[Attempt]) -> list[Turn]:
    """The engine's turns; drill and surface must be joined in already."""
    return [
        Turn(
            id=str(attempt.id),
            drill=attempt.drill.key,
            surface=attempt.surface.key,
            support=attempt.support,
            author=attempt.author_id,
            day=attempt.day,
            at=attempt.done_at,
            graded=attempt.graded,
            clean=attempt.clean,
            value=attempt.value,
            caught=attempt.caught,
            faults=tuple(attempt.faults),
        )
        for attempt in attempts
    ]


def unstruck_on(child_ids: Iterable[int], day: datetime.date) -> dict[int, list[Turn]]:
    """Each child's unstruck turns of one day."""
    attempts = (
        Attempt.objects.filter(child__in=list(child_ids), day=day)
        .exclude(pk__in=Strike.objects.values("attempt_id"))
        .select_related("drill", "surface")
    )
    found: dict[int, list[Turn]] = defaultdict(list)
    for attempt in attempts:
        found[attempt.child_id].extend(turns_of([attempt]))
    return found
