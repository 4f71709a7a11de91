"""A sentence of a letter, and what of the child's record it rests on.

Whoever makes a sentence names it; the rows are read only for somebody who asks
(``readiness/letters/rests_on/rows.py``).
"""

import datetime
import hashlib
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

EVER = datetime.date.min


class Kind(StrEnum):
    """``about`` is, of turns, a drill's key (empty: of all drills); of decisions, a stage's code or
    a drill's key; of gates, a stage's code; of the others, empty."""

    TURNS = "turns"
    DECISIONS = "decisions"
    GATES = "gates"
    PLACINGS = "placings"
    PAUSES = "pauses"
    PAIN = "pain"
    CONSENT = "consent"
    LETTERS = "letters"


@dataclass(frozen=True)
class RestsOn:
    """Rows of one kind, of days from ``first`` to ``last``, both with."""

    kind: Kind
    first: datetime.date
    last: datetime.date
    about: str = ""

    def covers(self, day: datetime.date, *about: str) -> bool:
        return self.first <= day <= self.last and self.about in ("", *about)


@dataclass(frozen=True)
class Sentence:
    """``rests_on``: nothing for a rule of the studio's, a caution, a kind word."""

    text: str
    rests_on: tuple[RestsOn, ...] = ()

    @cached_property
    def key(self) -> str:
        """What names it in an address."""
        return hashlib.sha256(self.text.encode()).hexdigest()[:16]
