"""Folding the whole log again, its tallies written, against reading the same rows and no more."""

import resource
from collections import deque
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from progression.models import Attempt
from readiness.models import DayTally, FaultTally
from readiness.record.evidence_loader import TURN_COLUMNS
from readiness.record.rebuild import rebuild
from studio.models import Child
from tests.bench.kept import Copy, copy_of
from tests.bench.log import FULL_LONG, FULL_SHORT, LONG, SHORT
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import Shape

ROUNDS = 3
# proc(5): writing 5 resets the peak.
RESET = Path("/proc/self/clear_refs")

# So many rows are read at once, which is Django's own figure.
AT_ONCE = 2000

MOST_RATIO = 2.5
MOST_MEMORY = 1.2


def log_rows() -> Iterator[tuple[Any, ...]]:
    """Every turn that was not taken back, with what its tally is made of, by child and day."""
    rows = Attempt.objects.unstruck().with_graded_now().order_by("child_id", "day")
    return rows.values_list(*TURN_COLUMNS).iterator(chunk_size=AT_ONCE)


def most_held() -> int:
    """The most memory that this process held since it was forgotten, in kilobytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def forget_most_held() -> None:
    """On Linux; elsewhere the most held since the process began, while making records, stays."""
    if RESET.exists():
        RESET.write_text("5")


class Side:
    """One record, and how long it took to read it and to fold it again."""

    def __init__(self, copy: Copy, shape: Shape) -> None:
        self.copy, self.shape = copy, shape
        self.read: list[float] = []
        self.folded: list[float] = []
        self.peak = 0

    def round(self) -> None:
        with self.copy.used():
            self.read.append(ms(self.read_all))
            self.forget_tallies()
            before = DayTally.objects.count()
            forget_most_held()
            self.folded.append(ms(self.fold_all))
            self.peak = max(self.peak, most_held())
            assert before == 0 < DayTally.objects.count()

    def forget_tallies(self) -> None:
        """Child by child: for all at once SQLite takes memory that would be counted."""
        for child in Child.objects.order_by("pk"):
            FaultTally.objects.filter(child=child).delete()
            DayTally.objects.filter(child=child).delete()

    def read_all(self) -> None:
        deque(log_rows(), maxlen=0)

    def fold_all(self) -> None:
        deque(rebuild(Child.objects.order_by("pk"), check=False), maxlen=0)


def run(options: Options) -> Result:
    shapes = (FULL_SHORT, FULL_LONG) if options.full else (SHORT, LONG)
    with copy_of("log", shapes[0]) as one, copy_of("log", shapes[1]) as other:
        short, long = Side(one, shapes[0]), Side(other, shapes[1])
        for side in (short, long):
            for _ in range(ROUNDS):
                side.round()
    return _result(short, long)


def _result(short: Side, long: Side) -> Result:
    spreads = [
        spread(f"{name}, {record} record", values)
        for record, side in (("short", short), ("long", long))
        for name, values in (("reading the rows", side.read), ("folding again", side.folded))
    ]
    at = {each.name: each.median for each in spreads}
    limits = [
        Limit(
            f"folding again against reading, {record} record",
            at[f"folding again, {record} record"] / at[f"reading the rows, {record} record"],
            MOST_RATIO,
        )
        for record in ("short", "long")
    ]
    limits.append(Limit("memory, long against short", long.peak / short.peak, MOST_MEMORY))
    about = {
        "short record": short.shape.told(),
        "long record": long.shape.told(),
        "most memory held": f"{short.peak // 1024} and {long.peak // 1024} MB",
    }
    return Result("rebuild", about, spreads, limits)
