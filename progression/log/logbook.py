"""The log of turns: reading one line, storing turns and strikes.

Nothing here knows what a record means; readiness/record/intake.py is the one door through which
turns come in, and it calls this.
"""

import datetime
import hashlib
import json
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.db.models import QuerySet, Value

from progression.models import Attempt, Drill, LineAside, Strike, Surface
from studio.db import bulk
from studio.db.prepared import prepared
from studio.models import Child, Meeting, Staff

# The form of a line. Older ones are still taken; a newer one is refused, not guessed at.
SCHEMA = 2
# Why a turn was done with less support than the tablet showed.
LESS_CODES = ("judged-right", "made-easier", "no-spotter", "went-alone")
# A tablet's clock is wrong by hours or zones, a dead battery's by decades: in milliseconds.
FARTHEST_OFFSET = 100 * 366 * 24 * 3600 * 1000
LONGEST_PAGE = 40
_IN_ONE_FORM = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)
# Few enough ids for any database in one query.
_AT_ONCE = 500
STRIKE_CODES = ("wrong-child", "wrong-tap", "wrong-drill", "other")


class LineRefused(Exception):
    """A line that cannot be taken; ``code`` says why. The line is set aside, not dropped."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


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


@dataclass(frozen=True)
class NewStrike:
    id: uuid.UUID
    attempt_id: uuid.UUID
    code: str
    at: datetime.datetime
    by: Staff
    digest: str


@dataclass(frozen=True)
class Here:
    id: uuid.UUID
    child: Child
    present: bool
    at: datetime.datetime
    by: Staff
    digest: str


@dataclass(frozen=True)
class Hurt:
    id: uuid.UUID
    child: Child
    place: str
    at: datetime.datetime
    by: Staff
    digest: str


Line = NewTurn | NewStrike | Here | Hurt


@dataclass(frozen=True)
class Sheet:
    """What a floor line is read against: the meeting, its children, the ladder, the people.

    ``offset`` is what must be added to the device's clock to get the server's, for lines that
    do not bring their own. ``author`` tapped the line, ``sender`` brought it; ``grades``: the
    author has the right to grade; ``said``: only the line itself says who its author was.
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
    said: bool = False
    # The form in which the lines came.
    v: int = SCHEMA

    @property
    def answerable(self) -> Staff:
        """Who answers for what is no turn: the author, or who brings it if that is only said."""
        return self.sender if self.said else self.author

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

    def done_at(self, raw: Mapping[str, Any]) -> tuple[datetime.datetime, bool]:
        """When it was done by the server's clock, and whether that had to be clamped.

        The offset that the tablet measured at its last contact before the tap; without one,
        as long before it was received as the tablet says it was before it was sent.
        """
        offset = raw.get("offset")
        if offset is not None and not _is_whole(offset, FARTHEST_OFFSET):
            raise LineRefused("bad-time")
        own = self.offset if offset is None else datetime.timedelta(milliseconds=offset)
        done = moment(raw.get("at")) + own
        kept = max(min(done, self.now), self.day_starts)
        return kept, kept != done


def _is_whole(value: object, farthest: float) -> bool:
    """A whole number no farther than that from 0; not a truth value."""
    return type(value) is int and abs(value) <= farthest


def clock_of(raw: Mapping[str, Any]) -> dict[str, Any]:
    """What a line says of its tablet's clock beside the time; LineRefused if it is no clock."""
    clock = {name: raw[name] for name in ("page", "mono", "offset") if name in raw}
    page, mono = clock.get("page", ""), clock.get("mono", 0)
    if not isinstance(page, str) or len(page) > LONGEST_PAGE or not page.isprintable():
        raise LineRefused("bad-time")
    if not _is_whole(mono, FARTHEST_OFFSET):
        raise LineRefused("bad-time")
    return clock


def digest_of(raw: object) -> str:
    """SHA-256 of a line in one fixed form: equal content, equal digest."""
    text = _IN_ONE_FORM.encode(raw)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def line_id(raw: object) -> uuid.UUID:
    """The line's own id; LineRefused unless it is a time-ordered UUID (RFC 9562, version 7)."""
    try:
        found = uuid.UUID(raw["id"])  # type: ignore[index]
    except (TypeError, KeyError, ValueError, AttributeError):
        raise LineRefused("bad-id") from None
    if found.version != 7 or str(found) != str(raw["id"]).lower():  # type: ignore[index]
        raise LineRefused("bad-id")
    return found


def read_line(raw: Mapping[str, Any], sheet: Sheet) -> Line:
    """Read one line of the floor call; LineRefused says what is wrong with it."""
    match raw.get("kind"):
        case "turn":
            return _turn(raw, sheet)
        case "strike":
            return _strike(raw, sheet)
        case "here":
            return _here(raw, sheet)
        case "hurt":
            return _hurt(raw, sheet)
    raise LineRefused("unknown-kind")


def moment(value: object) -> datetime.datetime:
    """An aware time from ISO text; LineRefused without an offset or out of any reason."""
    try:
        found = datetime.datetime.fromisoformat(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        raise LineRefused("bad-time") from None
    if found.tzinfo is None or not 2000 <= found.year <= 2200:
        raise LineRefused("bad-time")
    return found


def _turn(raw: Mapping[str, Any], sheet: Sheet) -> NewTurn:
    drill = _known(raw, "drill", sheet.drills, "unknown-drill")
    about = sheet.drills[drill]
    surface = _known(raw, "surface", sheet.surfaces, "unknown-surface")
    support = raw.get("support", 0) if about["support_logged"] else 0
    if type(support) is not int or not 0 <= support <= 3:
        raise LineRefused("bad-support")
    if about["measure"] == "grade" and not sheet.grades:
        raise LineRefused("may-not-grade")
    clean, value = _outcome(raw, about)
    faults, caught = _faults(raw, sheet), raw.get("caught", False)
    if type(caught) is not bool:
        raise LineRefused("bad-outcome")
    if clean and (caught or any(sheet.stops[fault] == "yes" for fault in faults)):
        raise LineRefused("clean-with-stop-sign")
    done_at, clamped = sheet.done_at(raw)
    flags = [(clamped, "clock"), (sheet.said, "said-to-be-by")]
    return NewTurn(
        id=line_id(raw),
        child=_child(raw, sheet),
        drill=drill,
        surface=surface,
        day=sheet.meeting.date,
        done_at=done_at,
        support=support,
        author=sheet.author,
        sender=sheet.sender,
        graded=sheet.grades and not sheet.said,
        source=Attempt.Source.FLOOR,
        received_at=sheet.now,
        digest=digest_of(raw),
        clean=clean,
        value=value,
        caught=caught,
        faults=faults,
        meeting=sheet.meeting,
        device=sheet.device,
        device_time=moment(raw.get("at")),
        flags=tuple(flag for stands, flag in flags if stands),
        clock=clock_of(raw),
        schema=sheet.v,
        less_reason=_known(raw, "less", LESS_CODES, "unknown-reason") if "less" in raw else "",
    )


def _outcome(raw: Mapping[str, Any], drill: Mapping[str, Any]) -> tuple[bool | None, float | None]:
    clean, value = raw.get("clean"), raw.get("value")
    if drill["measure"] == "clean":
        if not isinstance(clean, bool) or value is not None:
            raise LineRefused("bad-outcome")
        return clean, None
    if isinstance(value, bool) or not isinstance(value, int | float) or clean is not None:
        raise LineRefused("bad-value")
    whole = drill["measure"] in ("reps", "grade")
    if not 0 <= value <= drill["most"] or (whole and value != int(value)):
        raise LineRefused("bad-value")
    return None, float(value)


def _faults(raw: Mapping[str, Any], sheet: Sheet) -> tuple[str, ...]:
    faults = raw.get("faults", [])
    if not isinstance(faults, list) or not all(isinstance(f, str) for f in faults):
        raise LineRefused("unknown-fault")
    if any(fault not in sheet.stops for fault in faults):
        raise LineRefused("unknown-fault")
    return tuple(dict.fromkeys(faults))


def _known(raw: Mapping[str, Any], name: str, known: Iterable[str], code: str) -> str:
    value = raw.get(name)
    if not isinstance(value, str) or value not in known:
        raise LineRefused(code)
    return value


def _child(raw: Mapping[str, Any], sheet: Sheet) -> Child:
    child = sheet.children.get(raw.get("child", "")) if isinstance(raw.get("child"), str) else None
    if child is None:
        raise LineRefused("not-in-class")
    return child


def _strike(raw: Mapping[str, Any], sheet: Sheet) -> NewStrike:
    try:
        attempt_id = uuid.UUID(raw["turn"])
    except (KeyError, TypeError, ValueError, AttributeError):
        raise LineRefused("bad-strike") from None
    code = _known(raw, "code", STRIKE_CODES, "bad-strike")
    at, _ = sheet.done_at(raw)
    return NewStrike(line_id(raw), attempt_id, code, at, sheet.answerable, digest_of(raw))


def _here(raw: Mapping[str, Any], sheet: Sheet) -> Here:
    present = raw.get("present")
    if type(present) is not bool:
        raise LineRefused("bad-outcome")
    at, _ = sheet.done_at(raw)
    return Here(line_id(raw), _child(raw, sheet), present, at, sheet.answerable, digest_of(raw))


def _hurt(raw: Mapping[str, Any], sheet: Sheet) -> Hurt:
    place = _known(raw, "place", sheet.places, "unknown-place")
    at, _ = sheet.done_at(raw)
    return Hurt(line_id(raw), _child(raw, sheet), place, at, sheet.answerable, digest_of(raw))


# --- storing -------------------------------------------------------------------------


@dataclass(frozen=True)
class Keys:
    """The rows of drills and surfaces by their lasting names."""

    drills: dict[str, int]
    surfaces: dict[str, int]

    @classmethod
    def load(cls) -> "Keys":
        keys = cls({}, {})
        for kind, key, pk in _keys():
            (keys.drills if kind == "drill" else keys.surfaces)[key] = pk
        return keys


@prepared
def _keys() -> QuerySet[Any, Any]:
    """Which of the two, the name, the row: both tables in one question."""
    drills = Drill.objects.values_list(Value("drill"), "key", "pk")
    return drills.union(Surface.objects.values_list(Value("surface"), "key", "pk"), all=True)


_COLUMNS = (
    "id", "child_id", "drill_id", "surface_id", "meeting_id", "day", "done_at", "support",
    "caught", "clean", "value", "faults", "graded", "author_id", "sender_id", "flags",
    "less_reason", "source", "device", "device_time", "clock", "received_at", "note", "schema",
    "digest",
)  # fmt: skip


def store_turns(turns: Sequence[NewTurn], keys: Keys) -> None:
    """Insert turns; whoever calls has made sure that their ids are new."""
    bulk.insert(Attempt, _COLUMNS, (_row(turn, keys) for turn in turns))


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
        turn.note,
        turn.schema,
        turn.digest,
    )


def ids_in_log(turns: Iterable[NewTurn]) -> set[uuid.UUID]:
    """The ids of those turns that are in the log already."""
    ids = [turn.id for turn in turns]
    found: set[uuid.UUID] = set()
    for start in range(0, len(ids), _AT_ONCE):
        some = Attempt.objects.filter(id__in=ids[start : start + _AT_ONCE])
        found.update(some.values_list("id", flat=True))
    return found


def store_strikes(strikes: Sequence[NewStrike], now: datetime.datetime) -> None:
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


def set_aside(
    refused: Sequence[tuple[object, str, str]],
    meeting: Meeting,
    sender: Staff,
    device: str,
    now: datetime.datetime,
) -> None:
    """Keep (line, answer, code) in full; the same refused line sent again is kept once."""
    LineAside.objects.bulk_create(
        [
            LineAside(
                line_id=_shown_id(raw),
                meeting=meeting,
                sender=sender,
                device=device,
                received_at=now,
                answer=answer,
                code=code,
                body=json.dumps(raw),
                digest=digest_of(raw),
            )
            for raw, answer, code in refused
        ],
        ignore_conflicts=True,
    )


def _shown_id(raw: object) -> str:
    return printable(raw.get("id", ""), 60) if isinstance(raw, Mapping) else ""


def printable(value: object, most: int) -> str:
    """Text that any database can keep: no control characters, no half characters."""
    return "".join(letter for letter in str(value) if letter.isprintable())[:most]
