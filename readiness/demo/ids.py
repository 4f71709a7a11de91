"""Ids made from a time and a seeded chance, so that the same seed gives the same ids."""

import datetime
import uuid
from random import Random


def uuid7(at: datetime.datetime, chance: Random) -> uuid.UUID:
    """A UUID of version 7 (RFC 9562, section 5.7): milliseconds since 1970, then chance."""
    number = int(at.timestamp() * 1000) << 80 | 0x7 << 76
    return uuid.UUID(
        int=number | chance.getrandbits(12) << 64 | 0b10 << 62 | chance.getrandbits(62)
    )


def uuid4(chance: Random) -> uuid.UUID:
    """A UUID of version 4 (RFC 9562, section 5.4)."""
    return uuid.UUID(int=chance.getrandbits(128), version=4)
