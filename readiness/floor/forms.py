"""The call with which a tablet sends its lines: its form is checked here, each line's in
progression/log/."""

import datetime
import json
import uuid
from dataclasses import dataclass
from typing import Any

from progression.log.line_refusals import LineRefused, moment_on_page, read_moment
from progression.log.lines import PageMoment
from progression.log.signatures import read_public_key
from studio.models import MeetingVisit

MOST_LINES = 200
# 200 lines with all that may stand in one fill a fifth of it.
MOST_BYTES = 1024 * 1024
LONGEST_DEVICE = 60
LONGEST_ORIGIN = 20_000
LONGEST_NAME = 120


class UnreadableCall(Exception):
    """The body is not a call of the agreed form."""


class TooManyLines(Exception):
    """More lines than one call may carry."""


@dataclass(frozen=True)
class Call:
    """A call of the agreed form; what stands in its lines is judged line by line."""

    v: int
    device: str
    sent_at: datetime.datetime
    lines: list[dict[str, Any]]
    # The log's name that the tablet knows, and the newest line acknowledged under it.
    log: str
    last: uuid.UUID | None
    # Whose lines these are where they do not say it themselves: a public id, or empty.
    author: str
    # By line id, the key and the signature of lines that somebody else tapped.
    signed: dict[str, Any]
    # What the tablet keeps of the class, to make it again after a restore; "" where it sends none
    # now, None where it is a page that knows of none.
    origin: str | None = None
    # The moment of the page at which it was sent, by the tablet's own clock.
    moment: PageMoment | None = None


def read_call(body: bytes) -> Call:
    """Read the body of an attempts call.

    Raises UnreadableCall if a line could not be told from another in the answer or the body
    is not of the agreed form, TooManyLines over 200 lines.
    """
    data = _json_object(body)
    v, device, lines = data.get("v"), data.get("device"), data.get("lines")
    if type(v) is not int or v < 1 or not isinstance(device, str) or len(device) > LONGEST_DEVICE:
        raise UnreadableCall
    if not isinstance(lines, list):
        raise UnreadableCall
    if len(lines) > MOST_LINES:
        raise TooManyLines
    if not all(isinstance(line, dict) and isinstance(line.get("id"), str) for line in lines):
        raise UnreadableCall
    log, last, author = data.get("log") or "", data.get("last"), data.get("author") or ""
    signed = data.get("signed") or {}
    origin = (data["origin"] or "") if "origin" in data else None
    if not (isinstance(log, str) and isinstance(author, str) and isinstance(signed, dict)):
        raise UnreadableCall
    if origin is not None and not (isinstance(origin, str) and len(origin) <= LONGEST_ORIGIN):
        raise UnreadableCall
    sent_at = _sent_at(data.get("sent_at"))
    moment = moment_on_page(data, sent_at)
    last_line = _line_or_none(last)
    return Call(v, device, sent_at, lines, log, last_line, author, signed, origin, moment)


def read_key_call(body: bytes) -> str:
    """The public key in the body of a key call; UnreadableCall if there is none in it."""
    key = _json_object(body).get("key")
    if not isinstance(key, str) or read_public_key(key) is None:
        raise UnreadableCall
    return key


def read_search_call(body: bytes) -> str:
    """The words that are looked for; UnreadableCall if there are none."""
    words = _json_object(body).get("q")
    if not isinstance(words, str) or len(words) > LONGEST_NAME:
        raise UnreadableCall
    return words


def read_visit_call(body: bytes) -> tuple[uuid.UUID, str]:
    """Which child, and why it is here tonight."""
    data = _json_object(body)
    child, why = _line_or_none(data.get("child")), data.get("why")
    if child is None or why not in MeetingVisit.Why.values:
        raise UnreadableCall
    return child, why


def read_new_child_call(body: bytes) -> uuid.UUID:
    """The id that the tablet has made for a child without a name."""
    child = _line_or_none(_json_object(body).get("id"))
    if child is None or child.version != 7:
        raise UnreadableCall
    return child


def _line_or_none(text: object) -> uuid.UUID | None:
    if text is None:
        return None
    try:
        return uuid.UUID(str(text))
    except ValueError as error:
        raise UnreadableCall from error


def _json_object(body: bytes) -> dict[str, Any]:
    try:
        data = json.loads(body, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise UnreadableCall from error
    if not isinstance(data, dict):
        raise UnreadableCall
    return data


def _refuse_constant(name: str) -> None:
    """NaN and Infinity are not JSON (RFC 8259, section 6), and no database keeps them."""
    raise ValueError(name)


def _sent_at(text: object) -> datetime.datetime:
    try:
        return read_moment(text)
    except LineRefused as refusal:
        raise UnreadableCall from refusal
