"""Ids of log lines that come from paper: made from the line's content, so that the same line
read again has the same id."""

import datetime
import hashlib
import json
import uuid
from collections.abc import Sequence

_CANONICAL_JSON = json.JSONEncoder(ensure_ascii=True, separators=(",", ":"))


def uuid8(custom_a: int, custom_b: int, custom_c: int) -> uuid.UUID:
    """A UUID of version 8 (RFC 9562, section 5.8) of 48, 12 and 62 bits of one's own."""
    number = (custom_a & (1 << 48) - 1) << 80
    number |= 0x8 << 76 | (custom_b & (1 << 12) - 1) << 64
    number |= 0b10 << 62 | (custom_c & (1 << 62) - 1)
    return uuid.UUID(int=number)


def paper_line_id(day: datetime.date, content: Sequence[object]) -> uuid.UUID:
    """The id of a line with this content on this day.

    It begins with the day, as milliseconds since 1970, where the ids of the floor begin
    with the time. ``content`` holds every field, in plain values, and how many equal lines
    came before, so that two equal turns stay two.
    """
    text = _CANONICAL_JSON.encode([day.isoformat(), *content])
    digest = int.from_bytes(hashlib.sha256(text.encode()).digest()[:10])
    midnight = datetime.datetime.combine(day, datetime.time(), datetime.UTC)
    return uuid8(int(midnight.timestamp() * 1000), digest >> 62, digest)
