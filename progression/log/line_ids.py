"""Ids of log lines that the server makes itself."""

import datetime
import uuid
from random import Random


def uuid7(at: datetime.datetime, rng: Random) -> uuid.UUID:
    """A UUID of version 7 (RFC 9562, section 5.7): milliseconds since 1970, then random bits."""
    number = int(at.timestamp() * 1000) << 80 | 0x7 << 76
    return uuid.UUID(int=number | rng.getrandbits(12) << 64 | 0b10 << 62 | rng.getrandbits(62))
