"""Folding a child's day anew from its unstruck turns.

A tally is never counted up or down: each turn or strike folds its child, drill and day
again, so the order of arrival never matters and a struck turn is as if it had never been.
"""

import datetime
import uuid
from collections.abc import Iterable, Mapping
from functools import reduce
from operator import or_

from django.db.models import Q

from progression.logbook import Keys
from progression.models import Attempt
from readiness.engine.tallies import Tally, Turn, fault_counts, fold
from readiness.ladders import Ladders
from readiness.models import DayTally, FaultTally
from readiness.record import TURN_COLUMNS, turn_of

# Child, drill key, local day.
Touched = tuple[int, str, datetime.date]
DayTurns = dict[Touched, list[Turn]]
# So many days are deleted in one statement.
AT_ONCE = 100


def stored_turns(touched: Iterable[Touched]) -> DayTurns:
    """The unstruck turns in the log of each touched child, drill and day."""
    wanted = set(touched)
    attempts = _rows_of(Attempt.objects.all(), wanted).unstruck()
    found: DayTurns = {key: [] for key in wanted}
    for row in attempts.values_list(*TURN_COLUMNS):
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
    return {key: fold(day, ladders.on(key[2]).stops) for key, day in turns.items()}


def write(turns: DayTurns, tallies: Mapping[Touched, list[Tally]], keys: Keys) -> None:
    """Put these tallies in the place of what was stored for the touched days."""
    _clear(turns, keys)
    insert(turns, tallies, keys)


def insert(turns: DayTurns, tallies: Mapping[Touched, list[Tally]], keys: Keys) -> None:
    """The tallies of days of which nothing is stored."""
    DayTally.objects.bulk_create(
        [_row(child, tally, keys) for (child, _, _), day in tallies.items() for tally in day],
        batch_size=400,
    )
    FaultTally.objects.bulk_create(
        [
            FaultTally(
                child_id=child, drill_id=keys.drills[drill], day=day, fault=fault, count=count
            )
            for (child, _, _), day_turns in turns.items()
            for (drill, day, fault), count in fault_counts(day_turns).items()
        ],
        batch_size=400,
    )


def _clear(touched: Iterable[Touched], keys: Keys) -> None:
    """Delete what is stored for these days, some at a time, by the index that begins with the
    child and the day."""
    places = [Q(child=child, day=day, drill=keys.drills[drill]) for child, drill, day in touched]
    for start in range(0, len(places), AT_ONCE):
        some = reduce(or_, places[start : start + AT_ONCE])
        DayTally.objects.filter(some).delete()
        FaultTally.objects.filter(some).delete()


def _rows_of(rows, touched: Iterable[Touched]):  # type: ignore[no-untyped-def]
    """A superset of the touched rows that an index finds; the caller sorts out the rest."""
    children, drills, days = set(), set(), set()
    for child, drill, day in touched:
        children.add(child)
        drills.add(drill)
        days.add(day)
    narrowed = rows.filter(child__in=children, drill__key__in=drills)
    if len(days) <= 100:
        return narrowed.filter(day__in=days)
    return narrowed.filter(day__range=(min(days), max(days)))


def _row(child: int, tally: Tally, keys: Keys) -> DayTally:
    return DayTally(
        child_id=child,
        drill_id=keys.drills[tally.drill],
        surface_id=keys.surfaces[tally.surface],
        support=tally.support,
        author_id=tally.author,
        day=tally.day,
        turns=tally.turns,
        clean=tally.clean,
        graded=tally.graded,
        graded_clean=tally.graded_clean,
        best=tally.best,
        best_graded=tally.best_graded,
        second_graded=tally.second_graded,
        total=tally.total,
        stop_signs=tally.stop_signs,
        first_at=tally.first_at,
        first_id=uuid.UUID(tally.first_id),
        first_clean=tally.first_clean,
        first_graded=tally.first_graded,
    )
