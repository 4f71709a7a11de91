"""The audit log: entries are noted with what they are about, and chained when that is committed.

With H = SHA-256, in hexadecimal digits:

    commitment = H(salt ‖ payload)
    digest     = H(previous digest ‖ ids ‖ commitment), the parts with a line's end between them

ids are place, time, kind, by and about. Whoever changes, takes out or puts in a row must write
every digest after it anew; a digest that was noted elsewhere shows that. Payload and salt of a row
may be erased: nothing can be found by guessing at its commitment, and the digests still hold.

An entry is stored in the transaction of what it tells of, so that there is none without the other.
It is chained in one of its own, after that one: writers wait for each other there and nowhere
else, and hold no other lock. What a server that was killed in between left, the next one chains.
Shared: used by whatever is audited.
"""

import datetime
import hashlib
import json
import logging
import secrets
import uuid
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from django.db import connection, transaction

from studio.models import AuditEntry, Staff

log = logging.getLogger("ladder.audit")

FIRST = "0" * 64
# Any number, for PostgreSQL's locks that are of no row: the chain's.
LOCK = 0x1ADDE7


class Told(NamedTuple):
    """About whom or what (a public id), and what there is to say of it."""

    about: uuid.UUID | None
    said: Mapping[str, Any]


def note(
    kind: AuditEntry.Kind,
    by: Staff | None,
    about: uuid.UUID | None,
    now: datetime.datetime,
    **said: Any,
) -> None:
    note_all(kind, by, [Told(about, said)], now)


def note_all(
    kind: AuditEntry.Kind, by: Staff | None, told: Iterable[Told], now: datetime.datetime
) -> None:
    """Several of one kind, by one query."""
    entries = [_entry(kind, by, each, now) for each in told]
    if entries:
        AuditEntry.objects.bulk_create(entries)
        transaction.on_commit(chain, robust=True)


def _entry(
    kind: AuditEntry.Kind, by: Staff | None, told: Told, now: datetime.datetime
) -> AuditEntry:
    payload = json.dumps(told.said, sort_keys=True, separators=(",", ":"), default=str)
    salt = secrets.token_hex(32)
    return AuditEntry(
        at=now, kind=kind, by=by, about=told.about, payload=payload, salt=salt,
        commitment=commitment(salt, payload),
    )  # fmt: skip


def commitment(salt: str, payload: str) -> str:
    return hashlib.sha256(bytes.fromhex(salt) + payload.encode()).hexdigest()


def digest(previous: str, entry: AuditEntry) -> str:
    at = entry.at.astimezone(datetime.UTC).isoformat(timespec="microseconds")
    ids = [entry.place, at, entry.kind, entry.by_id or "", entry.about or ""]
    lines = [previous, *map(str, ids), entry.commitment]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def chain() -> None:
    """Give every entry that waits its place and its digest."""
    with transaction.atomic():
        _one_at_a_time()
        last = AuditEntry.objects.exclude(place=None).order_by("-place").first()
        place, previous = (last.place or 0, last.digest or "") if last else (0, FIRST)
        for entry in AuditEntry.objects.filter(place=None).order_by("pk"):
            place += 1
            entry.place = place
            entry.digest = previous = digest(previous, entry)
            entry.save(update_fields=["place", "digest"])


def _one_at_a_time() -> None:
    """Until the transaction ends. On SQLite there is one writer anyway."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOCK])


def erase_about(ids: Iterable[uuid.UUID]) -> None:
    """What was said of these is gone; that it was, when and by whom stays."""
    AuditEntry.objects.filter(about__in=ids, payload__isnull=False).update(payload=None, salt=None)


class Verified(NamedTuple):
    """``head``: the last digest, to be noted elsewhere; ``faults``: a sentence for each row that is
    not as it was chained."""

    rows: int
    erased: int
    head: str
    faults: list[str]


def verify(head: str = "") -> Verified:
    """``head``: a digest that was noted before; it must still be in the chain."""
    faults, rows, erased, place, previous, seen = [], 0, 0, 0, FIRST, not head
    for entry in _in_order():
        rows += 1
        erased += entry.payload is None
        if code := _fault(entry, place + 1, previous):
            faults.append(f"row {entry.pk} (place {entry.place}): {code}")
        place, previous = entry.place or 0, entry.digest or ""
        seen = seen or previous == head
    if not seen:
        faults.append(f"{head} is no digest of the chain: rows were taken out or written anew")
    return Verified(rows, erased, previous, faults)


def _in_order() -> Iterator[AuditEntry]:
    return AuditEntry.objects.exclude(place=None).order_by("place").iterator(chunk_size=1000)


def _fault(entry: AuditEntry, place: int, previous: str) -> str:
    if entry.place != place:
        return f"the row at place {place} is missing before it"
    if (entry.salt is None) != (entry.payload is None):
        return "salt or payload is missing, not both"
    if entry.salt is not None and not _commits(entry):
        return "the payload is not the one that was noted"
    if entry.digest != digest(previous, entry):
        return "the digest does not hold"
    return ""


def _commits(entry: AuditEntry) -> bool:
    try:
        return entry.commitment == commitment(entry.salt or "", entry.payload or "")
    except ValueError:
        return False
