"""What the pack says of each child, kept in this process until that child's record changes.

A class fetches its pack every few seconds, and between two of them some children have had a turn
and most have not. Reading a child takes some milliseconds, looking up whether anything has
changed next to none.

What is kept is of children, and stays in the memory of the process: of the last two days at
most, for halls in different zones have different ones, and only of the last ``most`` children.
"""

import datetime
import threading
import uuid
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass

from readiness.before_class import Entry

# So many children, each once for everybody who has them in a class: forty classes of twenty with
# two coaches each. A part takes about 20 kB, so all of them some 35 MB of each process.
MOST_PARTS = 1600

ONE_DAY = datetime.timedelta(days=1)


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


@dataclass(frozen=True)
class Place:
    """Whom a part is about, and for whom: a pack numbers authors from the one whose it is."""

    child: int
    staff: int


@dataclass(frozen=True)
class Key:
    """All that a part is made of. With the same key it would be made the same again.

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


class KeptParts:
    """Parts by place, each with its key. Safe with threads: two that find none both make it."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._parts: OrderedDict[Place, tuple[Key, Part]] = OrderedDict()
        self._newest = datetime.date.min
        self._lock = threading.Lock()

    def __len__(self) -> int:
        return len(self._parts)

    def find(self, place: Place, key: Key) -> Part | None:
        with self._lock:
            known = self._parts.get(place)
            if known is None or known[0] != key:
                return None
            self._parts.move_to_end(place)
            return known[1]

    def keep(self, place: Place, key: Key, part: Part) -> None:
        with self._lock:
            self._drop_before(key.day)
            self._parts[place] = key, part
            self._parts.move_to_end(place)
            while len(self._parts) > self._most:
                self._parts.popitem(last=False)

    def clear(self) -> None:
        with self._lock:
            self._parts.clear()

    def _drop_before(self, day: datetime.date) -> None:
        """Of a new day: what is older than the day before is over in every zone."""
        if day <= self._newest:
            return
        self._newest = day
        old = [place for place, (key, _) in self._parts.items() if key.day < day - ONE_DAY]
        for place in old:
            del self._parts[place]


KEPT = KeptParts(MOST_PARTS)
