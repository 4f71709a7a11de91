"""Folding a child's day anew from its unstruck turns.

A tally is never counted up or down: each turn or strike folds its child, drill and day
again, so the order of arrival never matters and a struck turn is as if it had never been.
"""

import datetime
import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping

from progression.models import Attempt, Drill, Strike, Surface
from readiness.engine.tallies import Tally, Turn, fault_counts, fold
from readiness.ladders import Ladders
from readiness.models import DayTally, FaultTally
from readiness.record import turns_of

# Child, drill key, local day.
Touched = tuple[int, str, datetime.date]
DayTurns = dict[Touched, list[Turn]]


def stored_turns(touched: Iterable[Touched]) -> DayTurns:
    """The unstruck turns in the log of each touched child, drill and day."""
    wanted = set(touched)
    attempts = (
        _rows_of(Attempt.objects.all(), wanted)
        .exclude(pk__in=Strike.objects.values("attempt_id"))
        .select_related("drill", "surface")
    )
    found: DayTurns = {key: [] for key in wanted}
    for attempt in attempts:
        key = (attempt.child_id, attempt.drill.key, attempt.day)
        if key in found:
            found[key].extend(turns_of([attempt]))
    return found


def without(turns: DayTurns, struck: Iterable[uuid.UUID]) -> DayTurns:
    """The same turns without the struck ones."""
    ids = {str(each) for each in struck}
    return {key: [turn for turn in day if turn.id not in ids] for key, day in turns.items()}


def tallies_of(turns: DayTurns, ladders: Ladders) -> dict[Touched, list[Tally]]:
    """Each day folded, by the stop signs of the ladder in force on it."""
    return {key: fold(day, ladders.on(key[2]).stops) for key, day in turns.items()}


def write(turns: DayTurns, tallies: Mapping[Touched, list[Tally]]) -> None:
    """Put these tallies in the place of what was stored for the touched days."""
    drills = dict(Drill.objects.values_list("key", "pk"))
    surfaces = dict(Surface.objects.values_list("key", "pk"))
    tables: tuple[type[DayTally] | type[FaultTally], ...] = (DayTally, FaultTally)
    for table in tables:
        rows = _rows_of(table.objects.all(), turns)
        stale = [
            pk
            for pk, child, drill, day in rows.values_list("pk", "child_id", "drill__key", "day")
            if (child, drill, day) in turns
        ]
        for start in range(0, len(stale), 500):
            table.objects.filter(pk__in=stale[start : start + 500]).delete()
    DayTally.objects.bulk_create(
        [
            _row(child, tally, drills, surfaces)
            for (child, _, _), day in tallies.items()
            for tally in day
        ],
        batch_size=400,
    )
    FaultTally.objects.bulk_create(
        [
            FaultTally(child_id=child, drill_id=drills[drill], day=day, fault=fault, count=count)
            for (child, _, _), day_turns in turns.items()
            for (drill, day, fault), count in fault_counts(day_turns).items()
        ],
        batch_size=400,
    )


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


def _row(
    child: int, tally: Tally, drills: Mapping[str, int], surfaces: Mapping[str, int]
) -> DayTally:
    return DayTally(
        child_id=child,
        drill_id=drills[tally.drill],
        surface_id=surfaces[tally.surface],
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


def by_child(touched: Iterable[Touched]) -> dict[int, set[Touched]]:
    found: dict[int, set[Touched]] = defaultdict(set)
    for key in touched:
        found[key[0]].add(key)
    return dict(found)
