"""Storing turns and strikes.

Nothing here knows what a record means; readiness/record/intake.py is the one door through which
turns come in, and it calls this.
Shared: used by the door for turns, the demo and the paper log.
"""

import datetime
import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet, Value

from progression.log.lines import NewStrike, NewTurn
from progression.models import Attempt, AttemptNote, AttemptProof, Drill, Strike, Surface
from studio.audit.chain import Told, note_all
from studio.db import bulk
from studio.db.prepared import prepared
from studio.models import AuditEntry, Staff

# Few enough ids for any database in one query.
_IDS_PER_QUERY = 500


@dataclass(frozen=True)
class Keys:
    """The rows of drills and surfaces by their lasting names."""

    drills: dict[str, int]
    surfaces: dict[str, int]

    @classmethod
    def load(cls) -> "Keys":
        keys = cls({}, {})
        for kind, key, pk in _key_rows():
            (keys.drills if kind == "drill" else keys.surfaces)[key] = pk
        return keys


@prepared
def _key_rows() -> QuerySet[Any, Any]:
    """Which of the two, the name, the row: both tables in one question."""
    drills = Drill.objects.values_list(Value("drill"), "key", "pk")
    return drills.union(Surface.objects.values_list(Value("surface"), "key", "pk"), all=True)


_COLUMNS = (
    "id", "child_id", "drill_id", "surface_id", "meeting_id", "day", "done_at", "support",
    "caught", "clean", "value", "faults", "graded", "author_id", "sender_id", "flags",
    "less_reason", "source", "device", "device_time", "clock", "received_at", "schema",
    "digest",
)  # fmt: skip


_PROOF_COLUMNS = ("attempt_id", "kind", "awaits", "key_id", "signature")


def store_turns(turns: Sequence[NewTurn], keys: Keys) -> None:
    """Insert turns with their proofs; the caller has made sure that their ids are new."""
    bulk.insert(Attempt, _COLUMNS, (_row(turn, keys) for turn in turns))
    proofs = [
        (turn.id, turn.proof.kind, turn.awaits, turn.proof.key, turn.proof.signature)
        for turn in turns
        if turn.proof.kind != AttemptProof.Kind.SESSION or turn.awaits
    ]
    if proofs:
        bulk.insert(AttemptProof, _PROOF_COLUMNS, proofs)
    notes = [AttemptNote(attempt_id=turn.id, text=turn.note) for turn in turns if turn.note]
    if notes:
        AttemptNote.objects.bulk_create(notes)


def _row(turn: NewTurn, keys: Keys) -> tuple[object, ...]:
    """The values of a turn in the order of _COLUMNS."""
    return (
        turn.id,
        turn.child.pk,
        keys.drills[turn.drill],
        keys.surfaces[turn.surface],
        turn.meeting.pk if turn.meeting else None,
        turn.day,
        turn.done_at,
        turn.support,
        turn.caught,
        turn.clean,
        turn.value,
        turn.faults,
        turn.graded,
        turn.author.pk,
        turn.sender.pk,
        turn.flags,
        turn.less_reason,
        turn.source,
        turn.device,
        turn.device_time,
        turn.clock,
        turn.received_at,
        turn.schema,
        turn.digest,
    )


def ids_in_log(turns: Iterable[NewTurn]) -> set[uuid.UUID]:
    """The ids of those turns that are in the log already."""
    ids = [turn.id for turn in turns]
    stored: set[uuid.UUID] = set()
    for start in range(0, len(ids), _IDS_PER_QUERY):
        attempts = Attempt.objects.filter(id__in=ids[start : start + _IDS_PER_QUERY])
        stored.update(attempts.values_list("id", flat=True))
    return stored


def struck_before(turns: Iterable[NewTurn]) -> set[uuid.UUID]:
    """Those of these turns whose strikes have come before them."""
    ids, found = [turn.id for turn in turns], set[uuid.UUID]()
    for start in range(0, len(ids), _IDS_PER_QUERY):
        part = Strike.objects.filter(attempt_id__in=ids[start : start + _IDS_PER_QUERY])
        found.update(part.values_list("attempt_id", flat=True))
    return found


def store_strikes(strikes: Sequence[NewStrike], now: datetime.datetime) -> None:
    """Each is audited, too."""
    by_staff: dict[Staff, list[Told]] = defaultdict(list)
    for strike in strikes:
        by_staff[strike.by].append(Told(strike.attempt_id, {"code": strike.code}))
    for staff, told in by_staff.items():
        note_all(AuditEntry.Kind.STRIKE, staff, told, now)
    Strike.objects.bulk_create(
        [
            Strike(
                id=strike.id,
                attempt_id=strike.attempt_id,
                code=strike.code,
                by=strike.by,
                at=strike.at,
                received_at=now,
                digest=strike.digest,
            )
            for strike in strikes
        ]
    )
