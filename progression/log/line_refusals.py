"""One line of a tablet read and checked: what it says, or the code with which it is refused.

Every refusal of a line by itself is here. What depends on other lines (another turn with the same
id, a strike of somebody else's turn) is refused in readiness/record/intake.py.
Shared: used by the door for turns, the floor's call and the demo.
"""

import datetime
import uuid
from collections.abc import Iterable, Mapping
from typing import Any

from progression.log.lines import (
    FALL,
    HALL_CODES,
    LESS_CODES,
    MAT_CODES,
    STOP_SIGN,
    STRIKE_CODES,
    WHOM_CODES,
    ClassOver,
    Fell,
    Gone,
    Growing,
    Here,
    Hurt,
    Line,
    LineContext,
    NewStrike,
    NewTurn,
    OfHall,
    PageMoment,
    Rotation,
    SaidNoHands,
    Told,
    awaited,
    digest_of,
)
from progression.log.side_reading import SideReading, picture_of, read_side
from studio.access import may_grade
from studio.models import Child, Staff

# A tablet's clock is wrong by hours or zones, a dead battery's by decades: in milliseconds.
FARTHEST_OFFSET = 100 * 366 * 24 * 3600 * 1000
LONGEST_PAGE = 40
# Of an evening, with the one that says that stations are over.
MOST_ROTATIONS = 21


class LineRefused(Exception):
    """A line that cannot be taken; ``code`` says why. The line is stored as rejected, not lost."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def line_id(raw: object) -> uuid.UUID:
    """The line's own id; LineRefused unless it is a time-ordered UUID (RFC 9562, version 7)."""
    try:
        parsed = uuid.UUID(raw["id"])  # type: ignore[index]
    except (TypeError, KeyError, ValueError, AttributeError):
        raise LineRefused("bad-id") from None
    if parsed.version != 7 or str(parsed) != str(raw["id"]).lower():  # type: ignore[index]
        raise LineRefused("bad-id")
    return parsed


def read_line(raw: Mapping[str, Any], context: LineContext) -> Line:
    """Read one line of the floor call; LineRefused says what is wrong with it."""
    match raw.get("kind"):
        case "turn":
            return _read_turn(raw, context)
        case "strike":
            return _read_strike(raw, context)
        case "here":
            return _read_here(raw, context)
        case "hurt":
            return Hurt(*_read_report(raw, context), _read_place(raw, context))
        case "gone":
            return Gone(*_read_report(raw, context), _read_place(raw, context))
        case "growing":
            return Growing(*_read_report(raw, context))
        case "told":
            about = _one_of(raw, "what", {*context.places, FALL, STOP_SIGN}, "unknown-place")
            whom = _one_of(raw, "whom", WHOM_CODES, "unknown-reason")
            return Told(*_read_report(raw, context), about, whom)
        case "fell":
            return Fell(*_read_report(raw, context))
        case "no-hands":
            return SaidNoHands(*_read_report(raw, context))
        case "class-over":
            return _read_class_over(raw, context)
        case "hall":
            return _read_of_hall(raw, context)
        case "rotation":
            return _read_rotation(raw, context)
    raise LineRefused("unknown-kind")


def read_moment(value: object) -> datetime.datetime:
    """An aware time from ISO text, also by a clock whose battery ran empty, which begins in 1970;
    LineRefused without an offset or out of any reason."""
    try:
        moment = datetime.datetime.fromisoformat(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        raise LineRefused("bad-time") from None
    if moment.tzinfo is None or not 1970 <= moment.year <= 2200:
        raise LineRefused("bad-time")
    return moment


def _read_turn(raw: Mapping[str, Any], context: LineContext) -> NewTurn:
    key = _one_of(raw, "drill", context.drills, "unknown-drill")
    drill = context.drills[key]
    surface = _one_of(raw, "surface", context.surfaces, "unknown-surface")
    support = _read_support(raw, drill)
    if drill["measure"] == "grade" and not context.grades:
        raise LineRefused("may-not-grade")
    clean, value = _read_outcome(raw, drill)
    faults, caught = _read_faults(raw, context, clean)
    done_at, clamped = read_done_at(raw, context)
    graded, awaits = awaited(context.grades, clean, context.proof, context.late)
    return NewTurn(
        id=line_id(raw),
        child=_read_child(raw, context),
        drill=key,
        surface=surface,
        day=context.meeting.date,
        done_at=done_at,
        support=support,
        author=context.author,
        sender=context.sender,
        graded=graded,
        source=context.source,
        received_at=context.now,
        digest=digest_of(raw),
        clean=clean,
        value=value,
        caught=caught,
        faults=faults,
        meeting=context.meeting,
        device=context.device,
        device_time=read_moment(raw.get("at")),
        flags=_flags_of(done_at, clamped, context),
        clock=_read_clock(raw),
        schema=context.schema,
        less_reason=_one_of(raw, "less", LESS_CODES, "unknown-reason") if "less" in raw else "",
        proof=context.proof,
        awaits=awaits,
        side=_read_side(raw, drill, context),
    )


def _read_side(
    raw: Mapping[str, Any], drill: Mapping[str, Any], context: LineContext
) -> SideReading | None:
    """A page sends only what it has read itself: anything else is refused with the whole line,
    which is kept in full; mended, the turn is logged without it."""
    if raw.get("side") is None:
        return None
    try:
        return read_side(raw["side"], picture_of(drill, context.content))
    except ValueError:
        raise LineRefused("bad-angles") from None


def _flags_of(done_at: datetime.datetime, clamped: bool, context: LineContext) -> tuple[str, ...]:
    flags = {
        "clock": clamped,
        "said-to-be-by": context.proof.is_none,
        "late": context.late,
        "after-its-day": done_at >= context.day_ends,
    }
    return tuple(flag for flag, is_set in flags.items() if is_set)


def _read_support(raw: Mapping[str, Any], drill: Mapping[str, Any]) -> int:
    support = raw.get("support", 0) if drill["support_logged"] else 0
    if type(support) is not int or not 0 <= support <= 3:
        raise LineRefused("bad-support")
    return support


def _read_outcome(
    raw: Mapping[str, Any], drill: Mapping[str, Any]
) -> tuple[bool | None, float | None]:
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


def _read_faults(
    raw: Mapping[str, Any], context: LineContext, clean: bool | None
) -> tuple[tuple[str, ...], bool]:
    """The faults, each once, and whether the child was caught; neither goes with a clean turn
    where it is a stop sign."""
    faults, caught = raw.get("faults", []), raw.get("caught", False)
    if not isinstance(faults, list) or not all(isinstance(fault, str) for fault in faults):
        raise LineRefused("unknown-fault")
    if any(fault not in context.stops for fault in faults):
        raise LineRefused("unknown-fault")
    if type(caught) is not bool:
        raise LineRefused("bad-outcome")
    if clean and (caught or any(context.stops[fault] == "yes" for fault in faults)):
        raise LineRefused("clean-with-stop-sign")
    return tuple(dict.fromkeys(faults)), caught


def _one_of(raw: Mapping[str, Any], name: str, allowed: Iterable[str], code: str) -> str:
    value = raw.get(name)
    if not isinstance(value, str) or value not in allowed:
        raise LineRefused(code)
    return value


def _read_child(raw: Mapping[str, Any], context: LineContext) -> Child:
    child = (
        context.children.get(raw.get("child", "")) if isinstance(raw.get("child"), str) else None
    )
    if child is None:
        raise LineRefused("not-in-class")
    return child


def _read_strike(raw: Mapping[str, Any], context: LineContext) -> NewStrike:
    try:
        attempt_id = uuid.UUID(raw["turn"])
        instead = uuid.UUID(raw["instead"]) if "instead" in raw else None
    except (KeyError, TypeError, ValueError, AttributeError):
        raise LineRefused("bad-strike") from None
    code = _one_of(raw, "code", STRIKE_CODES, "bad-strike")
    at, _ = read_done_at(raw, context)
    about = code, at, context.answerable, digest_of(raw)
    return NewStrike(line_id(raw), attempt_id, *about, instead)


def _read_here(raw: Mapping[str, Any], context: LineContext) -> Here:
    present = raw.get("present")
    if type(present) is not bool:
        raise LineRefused("bad-outcome")
    at, _ = read_done_at(raw, context)
    return Here(
        line_id(raw), _read_child(raw, context), present, at, context.answerable, digest_of(raw)
    )


def _read_class_over(raw: Mapping[str, Any], context: LineContext) -> ClassOver:
    if not may_grade(context.answerable):
        raise LineRefused("may-not-close")
    at, _ = read_done_at(raw, context)
    return ClassOver(line_id(raw), at, context.answerable, digest_of(raw))


def _read_of_hall(raw: Mapping[str, Any], context: LineContext) -> OfHall:
    what = _one_of(raw, "what", HALL_CODES, "unknown-reason")
    is_mat = what in MAT_CODES
    surface = _one_of(raw, "surface", context.surfaces, "unknown-surface") if is_mat else ""
    at, _ = read_done_at(raw, context)
    return OfHall(line_id(raw), what, surface, at, context.answerable, digest_of(raw))


def _read_rotation(raw: Mapping[str, Any], context: LineContext) -> Rotation:
    if not may_grade(context.answerable):
        raise LineRefused("may-not-begin")
    number = raw.get("number")
    if type(number) is not int or not 1 <= number <= MOST_ROTATIONS:
        raise LineRefused("bad-value")
    at, _ = read_done_at(raw, context)
    return Rotation(line_id(raw), number, at, context.answerable, digest_of(raw))


def _read_report(
    raw: Mapping[str, Any], context: LineContext
) -> tuple[uuid.UUID, Child, datetime.datetime, Staff, str]:
    """The fields of every report: its id, the child, when, who answers for it, its digest."""
    child = _read_child(raw, context)
    at, _ = read_done_at(raw, context)
    return line_id(raw), child, at, context.answerable, digest_of(raw)


def _read_place(raw: Mapping[str, Any], context: LineContext) -> str:
    return _one_of(raw, "place", context.places, "unknown-place")


def read_done_at(raw: Mapping[str, Any], context: LineContext) -> tuple[datetime.datetime, bool]:
    """When it was done by the server's clock, and whether that had to be clamped.

    The offset that the tablet measured at its last contact before the tap; without one,
    as long before it was received as the tablet says it was before it was sent. Wherever that
    would put it after what came later on the same page, the page's monotonic clock decides.
    """
    milliseconds = raw.get("offset")
    if milliseconds is None:
        offset = context.offset
    elif _is_whole(milliseconds, FARTHEST_OFFSET):
        offset = datetime.timedelta(milliseconds=milliseconds)
    else:
        raise LineRefused("bad-time")
    done = read_moment(raw.get("at")) + offset
    if moment := moment_on_page(raw, done):
        done = _between(moment, context.before, context.sent)
    clamped = max(min(done, context.now), context.day_starts)
    return clamped, clamped != done


def moment_on_page(raw: Mapping[str, Any], at: datetime.datetime) -> PageMoment | None:
    """Where a line or a call stands on its page; None if it does not say."""
    page, mono = raw.get("page"), raw.get("mono")
    if not (isinstance(page, str) and page and _is_whole(mono, FARTHEST_OFFSET)):
        return None
    return PageMoment(page, raw["mono"], at)


def _between(
    line: PageMoment, before: PageMoment | None, sent: PageMoment | None
) -> datetime.datetime:
    """When a line was done, no earlier after the line before it, and no later before the call,
    than the monotonic clock of their page says."""
    done = line.at
    if before and before.page == line.page and before.mono <= line.mono:
        done = max(done, before.at + datetime.timedelta(milliseconds=line.mono - before.mono))
    if sent and sent.page == line.page and line.mono <= sent.mono:
        done = min(done, sent.at - datetime.timedelta(milliseconds=sent.mono - line.mono))
    return done


def _is_whole(value: object, farthest: float) -> bool:
    """A whole number no farther than that from 0; not a truth value."""
    return type(value) is int and abs(value) <= farthest


def _read_clock(raw: Mapping[str, Any]) -> dict[str, Any]:
    """What a line says of its tablet's clock beside the time; LineRefused if it is no clock."""
    clock = {name: raw[name] for name in ("page", "mono", "offset") if name in raw}
    page, mono = clock.get("page", ""), clock.get("mono", 0)
    if not isinstance(page, str) or len(page) > LONGEST_PAGE or not page.isprintable():
        raise LineRefused("bad-time")
    if not _is_whole(mono, FARTHEST_OFFSET):
        raise LineRefused("bad-time")
    return clock
