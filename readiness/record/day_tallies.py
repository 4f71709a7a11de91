"""Folding a child's day again from its unstruck turns.

A tally is never counted up or down: each turn or strike folds its child, drill and day
again, so the order of arrival never matters and a struck turn is as if it had never been.
"""

import datetime
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.db import connection
from django.db.models import QuerySet

from progression.log.logbook import Keys
from progression.models import Attempt
from readiness.engine.tallies import FaultCounts, Tally, Turn, fault_counts, tally_turns
from readiness.models import DayTally, FaultTally
from readiness.record.evidence_loader import TURN_COLUMNS, turn_of
from readiness.record.ladders import Ladders
from studio.db import bulk
from studio.db.prepared import Row, prepared

# Child, drill key, local day.
Touched = tuple[int, str, datetime.date]
DayTurns = dict[Touched, list[Turn]]
# More days than these are asked for as a span.
MOST_DAYS = 100


def stored_turns(touched: Iterable[Touched]) -> DayTurns:
    """The unstruck turns in the log of each touched child, drill and day."""
    wanted = set(touched)
    found: DayTurns = {key: [] for key in wanted}
    for row in _rows_of(wanted):
        turn = turn_of(row)
        key = (row[0], turn.drill, turn.day)
        if key in found:
            found[key].append(turn)
    return found


def without(turns: DayTurns, struck: Iterable[uuid.UUID]) -> DayTurns:
    """The same turns without the struck ones."""
    ids = {str(each) for each in struck}
    return {key: [turn for turn in day if turn.id not in ids] for key, day in turns.items()}


def tallies_of(turns: DayTurns, ladders: Ladders) -> dict[Touched, list[Tally]]:
    """Each day folded, by the stop signs of the ladder in force on it."""
    return {key: tally_turns(day, ladders.on(key[2]).stops) for key, day in turns.items()}


def write(
    turns: DayTurns,
    tallies: Mapping[Touched, list[Tally]],
    keys: Keys,
    *,
    only_more: bool = False,
) -> None:
    """Put these tallies in the place of what was stored for the touched days.

    ``only_more``: turns have come to them and none was struck, so that nothing stored there is
    without its like among the tallies.
    """
    if not only_more:
        _clear(turns, keys)
    tally_rows = (
        _tally_row(child, tally, keys) for (child, _, _), day in tallies.items() for tally in day
    )
    fault_rows = (
        row
        for (child, _, _), day in turns.items()
        for row in _fault_rows(child, fault_counts(day), keys)
    )
    bulk.put(DayTally, _TALLY, tally_rows, _TALLY_KEY)
    bulk.put(FaultTally, _FAULT, fault_rows, _FAULT_KEY)


def insert(child: int, tallies: Iterable[Tally], faults: FaultCounts, keys: Keys) -> None:
    """The tallies of a child's days of which nothing is stored."""
    bulk.insert(DayTally, _TALLY, (_tally_row(child, tally, keys) for tally in tallies))
    bulk.insert(FaultTally, _FAULT, _fault_rows(child, faults, keys))


def _clear(touched: Iterable[Touched], keys: Keys) -> None:
    """Delete what is stored for these days, by the index that begins with child and day."""
    day_of = connection.ops.adapt_datefield_value
    places = [(child, day_of(day), keys.drills[drill]) for child, drill, day in touched]
    with connection.cursor() as cursor:
        for table in (DayTally, FaultTally):
            cursor.executemany(
                f"DELETE FROM {table._meta.db_table} "  # noqa: S608
                "WHERE child_id = %s AND day = %s AND drill_id = %s",
                places,
            )


def _rows_of(touched: Iterable[Touched]) -> Iterable[Row]:
    """A superset of the touched rows that an index finds; the caller sorts out the rest."""
    children, days = set(), set()
    for child, _drill, day in touched:
        children.add(child)
        days.add(day)
    if len(days) <= MOST_DAYS:
        return _turns_on(children, days)
    rows = Attempt.objects.filter(child__in=children, day__range=(min(days), max(days)))
    return rows.unstruck().with_graded_now().values_list(*TURN_COLUMNS)


@prepared
def _turns_on(children: Sequence[int], days: Sequence[datetime.date]) -> QuerySet[Any, Any]:
    rows = Attempt.objects.filter(child__in=children, day__in=days)
    return rows.unstruck().with_graded_now().values_list(*TURN_COLUMNS)


_TALLY_KEY = ("child_id", "drill_id", "day", "surface_id", "support", "author_id")
# After the child, in the order of the engine's tally.
_TALLY = (
    "child_id", "drill_id", "surface_id", "support", "author_id", "day", "turns", "clean", "graded",
    "graded_clean", "best", "best_graded", "second_graded", "total", "stop_signs", "first_at",
    "first_id", "first_clean", "first_graded",
)  # fmt: skip
_FAULT_KEY = ("child_id", "day", "drill_id", "fault")
_FAULT = (*_FAULT_KEY, "count")


def _tally_row(child: int, tally: Tally, keys: Keys) -> Row:
    return (child, keys.drills[tally.drill], keys.surfaces[tally.surface], *tally[2:])


def _fault_rows(child: int, counts: FaultCounts, keys: Keys) -> Iterator[Row]:
    for (drill, day, fault), count in counts.items():
        yield child, day, keys.drills[drill], fault, count
