"""The start of a day for the children of a class: what every turn of the day is judged by."""

import datetime
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import QuerySet

from readiness.engine.evidence import Summary
from readiness.engine.replay.checkpoint import start_of_day
from readiness.engine.replay.events import Event, in_order
from readiness.engine.replay.state import ChildState
from readiness.models import Standing
from readiness.record.evidence_loader import load_events
from readiness.record.ladders import Ladders
from readiness.record.standings import refresh_standings
from studio.db.prepared import prepared
from studio.models import Child


@dataclass(frozen=True)
class DayContext:
    """A child at the start of a day, with the day's events so far. ``stale``: the child's
    standing knows that something has come since it was read; ``today`` as in Checkpoint."""

    state: ChildState
    today: Summary
    events: list[Event]
    stale: bool

    def expects(self, day: datetime.date) -> bool:
        """True if something that comes in of that day changes nothing about the standing."""
        return self.stale and day == self.state.day


def load_day_context(
    children: Sequence[Child], day: datetime.date, ladders: Ladders
) -> dict[int, DayContext]:
    """Those of the children for whom the start of ``day`` is kept, made now where it is due;
    not those of whom a later day's is, nor those with nothing on record before."""
    stored = _stored_starts(children, day)
    due = [child for child in children if child.pk not in stored]
    if due:
        refresh_standings(due, day, ladders)
        stored |= _stored_starts(due, day)
    number = ladders.named_on(day).number
    starts = {
        child: start_of_day(about.start)
        for child, about in stored.items()
        if about.on == day and about.start and about.start["ladder"] == number
    }
    changed = [child for child in starts if stored[child].events_since(day)]
    events = load_events(changed, ladders) if changed else {}
    return {
        child: DayContext(state, today, _on(events.get(child, []), day), stored[child].is_stale)
        for child, (state, today) in starts.items()
    }


class _StoredStart(NamedTuple):
    """What is stored of the start of a day, which day, and what the standing knows of since."""

    start: dict[str, Any] | None
    on: datetime.date
    told_on: datetime.date | None
    stale: bool
    reader: uuid.UUID | None

    @property
    def is_stale(self) -> bool:
        """Whoever is reading must hear of what comes in."""
        return self.stale and self.reader is None

    def events_since(self, day: datetime.date) -> bool:
        return self.told_on is not None and self.told_on >= day


def _stored_starts(children: Sequence[Child], day: datetime.date) -> dict[int, _StoredStart]:
    """Of those of whom the start of ``day`` or of a later one is stored."""
    rows = _start_rows([child.pk for child in children], day)
    return {child: _StoredStart(*about) for child, *about in rows}


@prepared
def _start_rows(children: Sequence[int], day: datetime.date) -> "QuerySet[Any, Any]":
    rows = Standing.objects.filter(child__in=children, start_on__gte=day)
    return rows.values_list("child_id", "start", "start_on", "told_on", "stale", "reader")


def _on(events: Iterable[Event], day: datetime.date) -> list[Event]:
    return [event for event in in_order(list(events)) if event.day == day]
