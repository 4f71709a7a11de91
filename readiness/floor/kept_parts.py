"""What the pack says of each child, kept in this process until that child's record changes.

A class fetches its pack every few seconds, and between two of them some children have had a turn
and most have not. Reading a child takes some milliseconds, looking up whether anything has
changed next to none.
"""

import datetime
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from readiness.floor.before_class import Entry
from readiness.record.memory import Memory

# So many children, each once for everybody who has them in a class: forty classes of twenty with
# two coaches each. A part takes about 20 kB, so all of them some 35 MB of each process.
MOST_PARTS = 1600


@dataclass(frozen=True)
class LastDone:
    """The child's drills, each with its latest day and the turns of that day; and the surfaces
    of the latest day of all, by turns."""

    drills: Mapping[str, tuple[datetime.date, int]]
    day: datetime.date
    surfaces: Mapping[str, int]


@dataclass(frozen=True)
class Part:
    """What a pack says of one child: a JSON object, and the child's share in what it says of
    the class."""

    text: str
    before: tuple[Entry, ...]
    last: LastDone


class Key(NamedTuple):
    """All that a part is made of, beside whose pack it is: it numbers authors from there.

    start: the id of what is kept at the start of ``day``; it stands for the record of the days
    before. turns, events: ids, of the day's turns and of whatever was decided or told; neither
    are ever changed. name: as the page shows it. ladders: every version.
    """

    day: datetime.date
    start: uuid.UUID
    turns: frozenset[str]
    events: frozenset[str]
    name: str
    ladders: tuple[object, ...]
    language: str | None


KEPT: Memory[Key, Part] = Memory(MOST_PARTS)
