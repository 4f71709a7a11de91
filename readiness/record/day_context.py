"""The start of a day for the children of a class: what every turn of the day is judged by.

Shared: used by the door for turns and by the floor's pack.
"""

import datetime
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from django.db import transaction
from django.db.models import QuerySet

from readiness.engine.replay.checkpoint import Checkpoint, from_data
from readiness.engine.replay.events import Event, in_order
from readiness.models import Standing
from readiness.record.evidence_loader import load_events
from readiness.record.ladders import Ladders
from readiness.record.standings import Reading, locked_children, refresh_standings
from studio.db.prepared import prepared
from studio.models import Child

# As many children as forty classes have; 22 kB each.
MOST_CHECKPOINTS = 1000


@dataclass(frozen=True)
class DayContext:
    """A child at the start of a day, with the day's events so far. ``stale``: the child's
    standing knows that something has come since it was read."""

    start: Checkpoint
    events: list[Event]
    stale: bool

    def expects(self, day: datetime.date) -> bool:
        """True if something that comes in of that day changes nothing about the standing."""
        return self.stale and day == self.start.state.day


def load_day_context(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> dict[int, DayContext]:
    """Those of the children for whom the start of ``day`` is kept, made now where it is due;
    not those of whom a later day's is, nor those with nothing on record before."""
    info = _checkpoint_info(children, day)
    due = [child for child in children if child.pk not in info]
    if due:
        refresh_standings(due, day, ladders)
        info |= _checkpoint_info(due, day)
    number = ladders.named_on(day).number
    of_today = {
        child: _checkpoint(child, about.id) for child, about in info.items() if about.on == day
    }
    starts = {child: start for child, start in of_today.items() if start and start.ladder == number}
    changed = [child for child in starts if info[child].events_since(day)]
    events = load_events(changed) if changed else {}
    return {
        child: DayContext(start, _on(events.get(child, []), day), info[child].stale)
        for child, start in starts.items()
    }


class _CheckpointInfo(NamedTuple):
    """Which start is kept of a child, of which day, and what the standing knows of since."""

    id: uuid.UUID
    on: datetime.date
    told_on: datetime.date | None
    stale: bool

    def events_since(self, day: datetime.date) -> bool:
        return self.told_on is not None and self.told_on >= day


def _checkpoint_info(children: Sequence[Child], day: datetime.date) -> dict[int, _CheckpointInfo]:
    """Of those of whom the start of ``day`` or of a later one is kept."""
    rows = _checkpoint_rows([child.pk for child in children], day)
    return {child: _CheckpointInfo(*about) for child, *about in rows}


@prepared
def _checkpoint_rows(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    rows = Standing.objects.filter(child__in=children, start_on__gte=day)
    return rows.values_list("child_id", "start_id", "start_on", "told_on", "stale")


@lru_cache(maxsize=MOST_CHECKPOINTS)
def _checkpoint(child: int, start_id: uuid.UUID) -> Checkpoint | None:
    """What is kept under this id, remembered by this process: an id is given to one start and
    to no other, and every turn of the day asks for it. Whoever asks only reads it."""
    ((data,),) = _checkpoint_data(child, start_id)
    return from_data(data) if data else None


@prepared
def _checkpoint_data(child: int, start_id: uuid.UUID) -> "QuerySet[Any, Any]":
    return Standing.objects.filter(child=child, start_id=start_id).values_list("start")


def _on(events: Iterable[Event], day: datetime.date) -> list[Event]:
    return [event for event in in_order(list(events)) if event.day == day]


def open_class(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> tuple[dict[int, uuid.UUID], list[Reading]]:
    """The ids of what is kept of these children at the start of ``day``; not of those of whom a
    later day's is. Whoever opens the class first keeps what the day begins with, so that no
    turn has to, and is given the readings of those children."""
    info, readings = _checkpoint_info(children, day), []
    due = [child for child in children if child.pk not in info]
    if due:
        with transaction.atomic():
            locked = locked_children(due)
            # Somebody else may have opened it in the meantime.
            info |= _checkpoint_info(locked, day)
            readings = refresh_standings(
                [child for child in locked if child.pk not in info], day, ladders
            )
    return {child: about.id for child, about in info.items() if about.on == day}, readings
