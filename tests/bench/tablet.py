"""What a tablet sends: lines and calls in the form of the floor page's own."""

import datetime
from collections.abc import Sequence
from typing import Any

from tests.bench.record import SURFACE, time_ordered

FORM = 3
DEVICE = "tablet-000000000000"


class Tablet:
    """One tablet of one member of staff at one meeting. ``number`` tells its ids from others'."""

    def __init__(self, number: int, author: str, meeting: str) -> None:
        self.number, self.author, self.meeting = number, author, meeting
        self.made = 0
        self.log: str | None = None
        self.last: str | None = None

    def turn(
        self, now: datetime.datetime, child: str, drill: str, outcome: dict[str, Any]
    ) -> dict[str, Any]:
        """A line of a turn that was tapped now; ``outcome``: {clean} or {value}, and support."""
        self.made += 1
        id_ = time_ordered(now, 1 << 61 | self.number << 24 | self.made)
        return {
            "kind": "turn",
            "id": str(id_),
            "at": now.isoformat(),
            "page": DEVICE[-12:],
            "mono": self.made,
            "offset": 0,
            "by": self.author,
            "meeting": self.meeting,
            "child": child,
            "drill": drill,
            "surface": SURFACE,
            "support": 3,
            **outcome,
        }

    def call(self, now: datetime.datetime, lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
        return {
            "v": FORM,
            "device": DEVICE,
            "sent_at": now.isoformat(),
            "page": DEVICE[-12:],
            "mono": self.made,
            "author": self.author,
            "log": self.log,
            "last": self.last,
            "lines": lines,
        }

    def heard(self, answer: dict[str, Any]) -> int:
        """Take an answer; how many of its lines were kept."""
        kept = [line["id"] for line in answer["lines"] if line["answer"] == "kept"]
        self.log = answer["log"]
        self.last = kept[-1] if kept else self.last
        return len(kept)
