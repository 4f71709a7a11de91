"""What is made of children, kept in this process until something of them changes.

It is of children, and stays in the memory of the process: of the last two days at most, for
halls in different zones have different ones, and only of the last ``most`` places.
"""

import datetime
import threading
from collections import OrderedDict
from typing import Generic, NamedTuple, Protocol, TypeVar

ONE_DAY = datetime.timedelta(days=1)


class Dated(Protocol):
    """All that something is made of. With an equal key it would be made the same again."""

    @property
    def day(self) -> datetime.date: ...


K = TypeVar("K", bound=Dated)
V = TypeVar("V")


class Place(NamedTuple):
    """Whom something is about, and for whom."""

    child: int
    staff: int


class Memory(Generic[K, V]):
    """One thing a place, each with its key. Safe with threads: two that find none both make it."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Place, tuple[K, V]] = OrderedDict()
        self._newest = datetime.date.min
        self._lock = threading.Lock()

    def __len__(self) -> int:
        return len(self._kept)

    def find(self, place: Place, key: K) -> V | None:
        with self._lock:
            known = self._kept.get(place)
            if known is None or known[0] != key:
                return None
            self._kept.move_to_end(place)
            return known[1]

    def keep(self, place: Place, key: K, value: V) -> None:
        with self._lock:
            self._drop_before(key.day)
            self._kept[place] = key, value
            self._kept.move_to_end(place)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)

    def clear(self) -> None:
        with self._lock:
            self._kept.clear()

    def _drop_before(self, day: datetime.date) -> None:
        """Of a new day: what is older than the day before is over in every zone."""
        if day <= self._newest:
            return
        self._newest = day
        old = [place for place, (key, _) in self._kept.items() if key.day < day - ONE_DAY]
        for place in old:
            del self._kept[place]
