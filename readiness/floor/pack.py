"""The pack: everything the floor page shows of one meeting, as JSON.

It is put together from the readings and the day's log and decides nothing itself: pack_ladder.py
has what it says of the ladder, pack_children.py of each child. Codes are
the ladder's own; the few sentences in it come from readiness/words/. What it says of a child
is kept (readiness/floor/kept_parts.py) until something of that child changes.
"""

import datetime
import json
import threading
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import get_language

from progression.log.lines import LESS_CODES, SCHEMA, STRIKE_CODES
from readiness.floor.before_class import entries_of, under_headings
from readiness.floor.kept_parts import KEPT, Key, Part
from readiness.floor.pack_children import (
    AuthorNumbers,
    child_fields,
    children_of,
    drill_fields,
    short_names,
)
from readiness.floor.pack_ladder import faults_seen, ladder_fields, last_done, used_last
from readiness.record.day_context import open_class
from readiness.record.evidence_loader import event_ids, turn_ids
from readiness.record.ladders import Ladders
from readiness.record.log_epoch import log_epoch
from readiness.record.memory import Place
from readiness.record.standings import Reading, read_many
from studio.access import may_grade
from studio.db.prepared import prepared
from studio.models import Attendance, Child, Meeting, Staff

# Packs are made one after the other in a process, so that a turn waits for one of them at most.
MAKING = threading.Lock()

Data = dict[str, Any]


def build_pack(
    meeting: Meeting, staff: Staff, now: datetime.datetime, tablet: Data | None = None
) -> str:
    """The pack of a meeting for one member of staff, as JSON. Queries do not grow with the class.

    tablet: what the view adds about the tablet.
    """
    children = children_of(meeting)
    ladders = Ladders()
    ladder = ladders.named_on(meeting.date)
    context = _PackContext(meeting.date, staff, short_names(children), ladders)
    parts = _parts(children, context)
    pack = {
        "v": SCHEMA,
        "log": str(log_epoch("", None)),
        "now": now.isoformat(),
        "day": meeting.date.isoformat(),
        "ladder": ladder.number,
        "meeting": _meeting_fields(meeting),
        "me": {"id": str(staff.uuid), "name": staff.called, "grades": may_grade(staff)},
        **ladder_fields(ladder, faults_seen(children, meeting.date)),
        **used_last([parts[child.pk].last for child in children]),
        "strikes": STRIKE_CODES,
        "less": LESS_CODES,
        "before": under_headings((child.uuid, parts[child.pk].before) for child in children),
        **(tablet or {}),
    }
    present = _present_at(meeting)
    texts = (
        _joined({"present": present.get(child.pk)}, parts[child.pk].text) for child in children
    )
    return _joined(pack, f'{{"children":[{",".join(texts)}]}}')


def _as_json(data: Data) -> str:
    return json.dumps(data, separators=(",", ":"))


def _joined(data: Data, text: str) -> str:
    """One JSON object of some data and of another object that is text already."""
    return f"{_as_json(data)[:-1]},{text[1:]}"


# --- the parts, one a child ------------------------------------------------------


@dataclass(frozen=True)
class _PackContext:
    """What the parts are for: the day, whose pack it is, and the names of the page."""

    day: datetime.date
    staff: Staff
    names: Mapping[int, str]
    ladders: Ladders

    def place(self, child: int) -> Place:
        return Place(child, self.staff.pk)

    def key(self, child: int, start: uuid.UUID, turns: Iterable[str], events: Iterable[str]) -> Key:
        ids = frozenset(turns), frozenset(events)
        return Key(self.day, start, *ids, self.names[child], self.ladders.versions, get_language())


def _parts(children: Sequence[Child], context: _PackContext) -> dict[int, Part]:
    """By child: as it is kept, where nothing has changed since; the others are read."""
    begun, readings = open_class(children, context.day, context.ladders)
    parts = {reading.child.pk: _read_part(reading, context) for reading in readings}
    parts |= _kept(begun, context)
    missing = [child for child in children if child.pk not in parts]
    if missing:
        with MAKING:
            readings = read_many(missing, context.day, context.ladders)
            parts |= {reading.child.pk: _read_part(reading, context) for reading in readings}
    return parts


def _kept(begun: Mapping[int, uuid.UUID], context: _PackContext) -> dict[int, Part]:
    turns, events = turn_ids(begun, context.day), event_ids(begun)
    parts = {}
    for child, start in begun.items():
        key = context.key(child, start, turns[child], events[child])
        part = KEPT.find(context.place(child), key)
        if part is not None:
            parts[child] = part
    return parts


def _read_part(reading: Reading, context: _PackContext) -> Part:
    """Made, and kept by what was read: something may have come in since it was looked for."""
    child = reading.child.pk
    part = _part(reading, context.names[child], AuthorNumbers(context.staff))
    if reading.start_id is not None:
        turns = [turn.id for turn in reading.turns]
        events = [event.id for event in reading.record.events]
        KEPT.keep(context.place(child), context.key(child, reading.start_id, turns, events), part)
    return part


def _part(reading: Reading, name: str, numbers: AuthorNumbers) -> Part:
    data = {
        "id": str(reading.child.uuid),
        "name": name,
        **child_fields(reading, name),
        "drills": drill_fields(reading, numbers, name),
    }
    return Part(_as_json(data), tuple(entries_of(reading, name)), last_done(reading.record))


# --- the meeting ---------------------------------------------------------------------


def _present_at(meeting: Meeting) -> dict[int, bool]:
    """By child; the latest statement counts."""
    return dict(_attendance(meeting.pk))


@prepared
def _attendance(meeting: int) -> QuerySet[Any, Any]:
    statements = Attendance.objects.filter(meeting=meeting).order_by("at", "pk")
    return statements.values_list("child_id", "present")


def _meeting_fields(meeting: Meeting) -> Data:
    group, location = meeting.group, meeting.group.location
    return {
        "id": str(meeting.uuid),
        "group": group.name,
        "date": meeting.date.isoformat(),
        "starts_at": f"{meeting.starts_at:%H:%M}",
        # From then on a tablet keeps the pack no longer.
        "over_at": location.end_of(meeting.date).isoformat(),
        "location": location.name,
        "address": location.address,
        "emergency": location.emergency_number,
        "adults": len(_adults_at(meeting.pk)),
    }


@prepared
def _adults_at(meeting: int) -> QuerySet[Any, Any]:
    return Meeting.staff.through.objects.filter(meeting=meeting).values_list("staff_id")
