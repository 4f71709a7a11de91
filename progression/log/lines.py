"""What the lines of the log hold once they are read, and what they are read against.

Shared: used by the door for turns, the floor's pages, both imports of turns and the demo.
"""

import datetime
import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.conf import settings

from progression.log.side_reading import SideReading
from progression.models import Attempt, AttemptProof
from studio.models import Child, Meeting, Staff

# The form of a line. Older ones are still taken; a newer one is refused, not guessed at.
SCHEMA = 3
# Why a turn was done with less support than the tablet showed.
LESS_CODES = ("judged-right", "made-easier", "no-spotter", "went-alone")
STRIKE_CODES = ("wrong-child", "wrong-tap", "wrong-drill", "other")
# About what the family is told beside a place that hurts; and whom of the family.
FALL, STOP_SIGN = "fall", "stop-sign"
HANDS_AGAIN = "hands-again"
WHOM_CODES = ("guardian-here", "guardian-phone", "other-adult")
# What is said of the hall; the last two of the mat that is one surface.
SPOTTER_CODES = ("spotter-gone", "spotter-back")
MAT_CODES = ("mat-broken", "mat-mended")
HALL_CODES = (*SPOTTER_CODES, "mats-looked-at", *MAT_CODES)
_CANONICAL_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


@dataclass(frozen=True)
class Proof:
    """What says whose line it is; with a key its row, and the signature."""

    kind: str = AttemptProof.Kind.SESSION
    key: int | None = None
    signature: str = ""

    @property
    def is_none(self) -> bool:
        return self.kind == AttemptProof.Kind.NONE


@dataclass(frozen=True)
class NewTurn:
    """A turn that is ready to be stored. ``clean`` for clean drills, else ``value``."""

    id: uuid.UUID
    child: Child
    drill: str
    surface: str
    day: datetime.date
    done_at: datetime.datetime
    support: int
    author: Staff
    sender: Staff
    graded: bool
    source: str
    received_at: datetime.datetime
    digest: str
    clean: bool | None = None
    value: float | None = None
    caught: bool = False
    faults: tuple[str, ...] = ()
    meeting: Meeting | None = None
    device: str = ""
    device_time: datetime.datetime | None = None
    note: str = ""
    flags: tuple[str, ...] = ()
    less_reason: str = ""
    clock: Mapping[str, Any] = field(default_factory=dict)
    schema: int = SCHEMA
    proof: Proof = Proof()
    awaits: str = ""
    # What was read off a picture from the side, if one was taken.
    side: SideReading | None = None


@dataclass(frozen=True)
class NewStrike:
    id: uuid.UUID
    attempt_id: uuid.UUID
    code: str
    at: datetime.datetime
    by: Staff
    digest: str
    # Of a pause of the wrong child: the report of the right one.
    instead: uuid.UUID | None = None


@dataclass(frozen=True)
class Here:
    id: uuid.UUID
    child: Child
    present: bool
    at: datetime.datetime
    by: Staff
    digest: str


@dataclass(frozen=True)
class Report:
    """What is told of a child besides turns and who is here."""

    id: uuid.UUID
    child: Child
    at: datetime.datetime
    by: Staff
    digest: str


@dataclass(frozen=True)
class Hurt(Report):
    place: str


@dataclass(frozen=True)
class Gone(Report):
    """What hurt on an earlier day does so no longer."""

    place: str


class Growing(Report):
    """The child grows fast: a coach's eye or the family's word."""


@dataclass(frozen=True)
class Told(Report):
    """The family was told: about a place that hurts, a fall or a stop sign, and whom."""

    about: str
    whom: str


class Fell(Report):
    """The child fell. Taken back by a strike of this line."""


@dataclass(frozen=True)
class SaidNoHands(Report):
    """The child wants no hands tonight. Taken back by a strike of this line."""


@dataclass(frozen=True)
class ClassOver:
    """The class is over for the evening."""

    id: uuid.UUID
    at: datetime.datetime
    by: Staff
    digest: str


@dataclass(frozen=True)
class OfHall:
    """Something said of the hall: a code, and of a mat its surface, else empty."""

    id: uuid.UUID
    what: str
    surface: str
    at: datetime.datetime
    by: Staff
    digest: str


@dataclass(frozen=True)
class Rotation:
    """A rotation of the evening's stations began; ``number`` counts from 1."""

    id: uuid.UUID
    number: int
    at: datetime.datetime
    by: Staff
    digest: str


Line = NewTurn | NewStrike | Here | Report | ClassOver | OfHall | Rotation


@dataclass(frozen=True)
class PageMoment:
    """A moment on one loading of a tablet's page: in milliseconds of its monotonic clock, which
    may stand still while the tablet sleeps and never goes back; and by the server's clock."""

    page: str
    mono: int
    at: datetime.datetime


@dataclass(frozen=True)
class LineContext:
    """What a floor line is read against: the meeting, its children, the ladder, the people.

    ``offset`` is what must be added to the device's clock to get the server's, for lines that
    do not bring their own. ``author`` tapped the line, ``sender`` brought it; ``grades``: the
    author has the right to grade; ``proof``: what says that it was the author; ``late``: the
    meeting is longer ago than a line may take; ``schema``: the form in which the lines came;
    ``sent`` and ``before``: the call, and the line before in it, on the page of each.
    """

    meeting: Meeting
    children: Mapping[str, Child]
    content: Mapping[str, Any]
    sender: Staff
    author: Staff
    grades: bool
    device: str
    now: datetime.datetime
    offset: datetime.timedelta
    day_starts: datetime.datetime = field(
        default=datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
    )
    day_ends: datetime.datetime = field(default=datetime.datetime(2200, 1, 1, tzinfo=datetime.UTC))
    proof: Proof = Proof()
    late: bool = False
    source: str = Attempt.Source.FLOOR
    schema: int = SCHEMA
    sent: PageMoment | None = None
    before: PageMoment | None = None

    @property
    def answerable(self) -> Staff:
        """Who answers for what is no turn: the author, or the sender if nothing proves that."""
        return self.sender if self.proof.is_none else self.author

    @cached_property
    def drills(self) -> dict[str, Mapping[str, Any]]:
        return {drill["key"]: drill for drill in self.content["drill"]}

    @cached_property
    def surfaces(self) -> set[str]:
        return {surface["key"] for surface in self.content["surface"]}

    @cached_property
    def stops(self) -> dict[str, str]:
        return {fault["key"]: fault["stop"] for fault in self.content["fault"]}

    @cached_property
    def places(self) -> set[str]:
        return {pain["place"] for pain in self.content["pain"]}

    @cached_property
    def pausing_places(self) -> set[str]:
        return {pain["place"] for pain in self.content["pain"] if pain.get("pause")}


def awaited(grades: bool, clean: bool | None, proof: Proof, late: bool) -> tuple[bool, str]:
    """Whether a turn is graded as it comes in, and whose word is missing before it is.

    ``grades``: its author has the right to. A miss asks for more support: it counts at once,
    whoever brought it and however late.
    """
    missing = {
        (False, False): AttemptProof.Awaits.NOBODY,
        (True, False): AttemptProof.Awaits.AUTHOR,
        (False, True): AttemptProof.Awaits.DIRECTOR,
        (True, True): AttemptProof.Awaits.BOTH,
    }[proof.is_none, late]
    if not grades or clean is False:
        return grades, AttemptProof.Awaits.NOBODY
    return not missing, missing


def is_late(day: datetime.date, received_on: datetime.date) -> bool:
    """A turn of so long ago needs a director's word before it is graded."""
    return (received_on - day).days > settings.LATE_AFTER_DAYS


def canonical(raw: object) -> bytes:
    """A line in one fixed form, the one that is signed (static/floor/store/signing.js)."""
    return _CANONICAL_JSON.encode(raw).encode("utf-8", "surrogatepass")


def digest_of(raw: object) -> str:
    """SHA-256 of a line in its fixed form: equal content, equal digest."""
    return hashlib.sha256(canonical(raw)).hexdigest()


def printable(value: object, length: int) -> str:
    """Text that any database can store: no control characters, no half characters."""
    return "".join(letter for letter in str(value) if letter.isprintable())[:length]
