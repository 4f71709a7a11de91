"""What happened this evening that a note at the door may tell, and the note kept once it is given.

Shared: used by the pages of door notes.
"""

import datetime
import logging
import uuid
from collections.abc import Iterator
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from progression.log.lines import FALL, STOP_SIGN
from readiness.engine.levels import Support
from readiness.engine.tallies import in_order, stop_sign_ids
from readiness.models import DoorNote, IncidentAccount, Told
from readiness.record.decisions import DecisionRefused, refuse_unless
from readiness.record.standings import Reading, read
from readiness.record.told.floor_lines import HEAD
from readiness.record.told.head_knocks import knocks_of, lock_child
from readiness.record.told.incidents import Incident, incidents_of
from readiness.record.told.on_the_page import store_report
from studio.access import may_write_letters
from studio.models import Child, Meeting, Staff

log = logging.getLogger("ladder.decisions")

Kind = DoorNote.Kind


@dataclass(frozen=True)
class Tonight:
    """Something of today that a note may tell. ``start``: the line that it rests on; ``time``: as
    far as it is known; ``about``: of what the family is told with it, as on the floor; ``drill``:
    the ladder's key, or empty; ``faults``: of a turn with a stop sign."""

    kind: str
    start: uuid.UUID
    about: str
    time: datetime.datetime | datetime.time | None = None
    meeting: int | None = None
    drill: str = ""
    faults: tuple[str, ...] = ()


def tonight_of(reading: Reading) -> list[Tonight]:
    """The head first. Of today alone: a note says "today" and is given the same evening."""
    child, day = reading.child, reading.read.day
    incidents = incidents_of(Child.objects.filter(pk=child.pk), day, day)
    return [
        *_knocks(child, day, incidents),
        *_falls(reading, incidents),
        *_hands_again(reading),
    ]


def _knocks(child: Child, day: datetime.date, incidents: list[Incident]) -> Iterator[Tonight]:
    """A knock here, one note however often it was written down."""
    knock = knocks_of(child).filter(on=day, elsewhere=False).first()
    if knock is None:
        return
    of_it = next((each for each in incidents if _hit_the_head(each)), None)
    time = _time(of_it) if of_it else knock.at
    meeting, drill = knock.meeting_id, of_it.drill if of_it else ""
    yield Tonight(Kind.HEAD, knock.pk, HEAD, time, meeting, drill)


def _hit_the_head(incident: Incident) -> bool:
    said = incident.account is not None and incident.account.hurt == HEAD
    return said or any(start.place == HEAD for start in incident.starts)


def _falls(reading: Reading, incidents: list[Incident]) -> Iterator[Tonight]:
    """Falls of a day on which nothing was said to hurt; who is told of a pain is told of it."""
    day, state = reading.read.day, reading.read.state
    if any(hurt == day for hurt, _place in state.pains) or knocks_of(reading.child).filter(on=day):
        return
    for each in incidents:
        if each.kind == IncidentAccount.Kind.FALL and not (each.account and each.account.hurt):
            meeting = each.starts[0].meeting if each.starts else None
            yield Tonight(Kind.FALL, each.id, FALL, _time(each), meeting, each.drill)


def _time(incident: Incident) -> datetime.datetime | datetime.time | None:
    if incident.account and incident.account.time:
        return incident.account.time
    return incident.starts[0].at if incident.starts else None


def _hands_again(reading: Reading) -> Iterator[Tonight]:
    """A stop sign of today that brings a coach's hands back to a drill: a turn of today, up to it,
    was with less."""
    state = reading.read.state
    if state.paused_since is not None:
        return
    for key, drill_state in sorted(state.drills.items()):
        drill = reading.ladder.engine.drills.get(key)
        if drill is None or not drill.taught_by_hand or drill_state.open_since is None:
            continue
        turns = in_order(turn for turn in reading.turns if turn.drill == key)
        stopped = stop_sign_ids(turns, reading.ladder.engine.stops)
        first = next((at for at, turn in enumerate(turns) if turn.id in stopped), None)
        if first is None or all(turn.support == Support.HANDS_ON for turn in turns[: first + 1]):
            continue
        turn = turns[first]
        faults = (*(["caught"] if turn.caught else []), *turn.faults)
        about = turn.at, turn.meeting, key, faults
        yield Tonight(Kind.HANDS, uuid.UUID(turn.id), STOP_SIGN, *about)


@transaction.atomic
def give_note(
    child: Child,
    by: Staff,
    now: datetime.datetime,
    what: Tonight,
    to: str,
    words: str,
) -> DoorNote:
    """Kept word for word; the family counts as told. ``to``: the adult, by name."""
    refuse_unless(may_write_letters(by), "may-not")
    locked, day = lock_child(child, now)
    if what not in tonight_of(read(locked, day)):
        raise DecisionRefused("note-changed")
    told = Told(about=what.about, whom=to[: Told._meta.get_field("whom").max_length])
    store_report(told, locked, by, now, day)
    note = DoorNote.objects.create(
        told=told, kind=what.kind, start=what.start, given_to=to, words=words
    )
    log.info("door note child=%s kind=%s by=%s", locked.uuid, what.kind, by.uuid)
    return note


def notes_given(child: Child) -> "QuerySet[DoorNote]":
    """Of all records of the child, the last first."""
    rows = DoorNote.objects.filter(told__child__in=child.records).select_related("told__by")
    return rows.order_by("-told__at", "-pk")


def meeting_of(what: Tonight) -> Meeting | None:
    meetings = Meeting.objects.select_related("group__location", "location")
    return meetings.filter(pk=what.meeting).first() if what.meeting else None
