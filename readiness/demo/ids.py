"""Ids made from a seeded random source, so that the same seed gives the same ids."""

import uuid
from random import Random


def uuid4(rng: Random) -> uuid.UUID:
    """A UUID of version 4 (RFC 9562, section 5.4)."""
    return uuid.UUID(int=rng.getrandbits(128), version=4)
