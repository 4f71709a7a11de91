"""One turn through the real call, against a bare view that stores one row.

Both are signed-in calls through the whole middleware, one after the other, on a short and on a
long record of the same class.
"""

import datetime
import itertools
import json
import time
from collections.abc import Iterator
from typing import Any

import time_machine
from django.test import Client

from progression.models import Attempt, Drill, LadderVersion, Surface
from studio.models import Child, ClassGroup, Meeting, Staff
from tests.bench.counting import Counted, counted
from tests.bench.kept import Copy, copy_of
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import IN_A_CLASS, NOW, SURFACE, Shape, time_ordered, trained
from tests.bench.tablet import DEVICE, Tablet

# The class has fifty times the days in the longer record.
SHORT = Shape(children=20, days=20, a_day=25, every=2)
LONG = Shape(children=40, days=1000, a_day=25, every=2)
FULL_SHORT = Shape(children=20, days=200, a_day=25, every=2)
FULL_LONG = Shape(children=400, days=1000, a_day=25, every=2)

ROUNDS = 10
A_ROUND = 50
# A connection is new in each round, and keeps plans for what it has been asked twice; a turn at a
# drill that is counted asks otherwise than one at a drill that is clean or not.
WARM_UP = 10
COUNTED_CALLS = 5
BATCHES = 10
IN_A_BATCH = 50
# A call that is far over its limit is measured less often than 500 times.
PATIENCE_SECONDS = 240

MOST_RATIO = 2.0
MOST_IN_BATCH = 0.20
MOST_GROWTH = 1.1


class Side:
    """One record, the class whose turns are logged into it, and what was measured on it."""

    def __init__(self, copy: Copy, shape: Shape) -> None:
        self.copy, self.shape = copy, shape
        self.first: list[float] = []
        self.real: list[float] = []
        self.bare: list[float] = []
        self.batched: list[float] = []
        with copy.used():
            self._choose()

    def _choose(self) -> None:
        group = ClassGroup.objects.order_by("pk")[0]
        coach = Staff.objects.filter(classes=group).get()
        meeting = Meeting.objects.get(group=group, date=NOW.date())
        self.client = Client()
        self.client.force_login(coach)
        self.tablet = Tablet(1, str(coach.uuid), str(meeting.uuid))
        self.address = f"/floor/{meeting.uuid}/attempts"
        self.taps = self._taps(list(group.children.order_by("pk")))
        self.row = self._bare_row(meeting, coach)
        self.rows = itertools.count(1)

    def _taps(self, children: list[Child]) -> Iterator[tuple[str, dict[str, Any]]]:
        """Child and what was tapped: each child in turn, then the next of their drills."""
        content = LadderVersion.objects.get().content
        for number in itertools.count():
            nth = number % IN_A_CLASS
            drills = trained(content, 1 + nth % 7)
            drill = drills[number // IN_A_CLASS % len(drills)]
            is_clean = drill["measure"] == "clean"
            yield str(children[nth].uuid), drill, {"clean": True} if is_clean else {"value": 2}

    def _bare_row(self, meeting: Meeting, coach: Staff) -> dict[str, Any]:
        """As wide a row as the real one, of a child whom the real call never reads."""
        other = Child.objects.create(name="Bare", name_key="bare", birth_year=2016, birth_month=4)
        row = Attempt.objects.filter(clean=True).order_by("pk")[0]
        return {
            "child_id": other.pk,
            "drill_id": Drill.objects.get(key="log-roll").pk,
            "surface_id": Surface.objects.get(key=SURFACE).pk,
            "meeting_id": meeting.pk,
            "author_id": coach.pk,
            "sender_id": coach.pk,
            "support": 3,
            "clean": True,
            "graded": True,
            "source": Attempt.Source.FLOOR,
            "device": DEVICE,
            "clock": row.clock,
            "digest": row.digest,
            "schema": 2,
        }

    def begin(self) -> None:
        """Each child's first turn of the day, which begins it for the turns after."""
        with self.copy.used():
            self.first += [ms(self.log_one) for _ in range(IN_A_CLASS)]

    def count(self) -> Counted:
        with self.copy.used():
            self.log_one()
            with counted() as found:
                for _ in range(COUNTED_CALLS):
                    self.log_one()
        return found

    def round(self) -> None:
        with self.copy.used():
            for _ in range(WARM_UP):
                self.log_one()
                self.store_one()
            for _ in range(A_ROUND):
                self.real.append(ms(self.log_one))
                self.bare.append(ms(self.store_one))

    def batch(self) -> None:
        with self.copy.used():
            self.log_one()
            self.batched.append(ms(lambda: self.log(IN_A_BATCH)) / IN_A_BATCH)

    def log_one(self) -> None:
        self.log(1)

    def log(self, number: int) -> None:
        now = datetime.datetime.now(datetime.UTC)
        taps = itertools.islice(self.taps, number)
        lines = [self.tablet.turn(now, child, drill["key"], said) for child, drill, said in taps]
        answer = self.client.post(
            self.address, json.dumps(self.tablet.call(now, lines)), "application/json"
        )
        assert self.tablet.heard(answer.json()) == number, answer.content

    def store_one(self) -> None:
        now = datetime.datetime.now(datetime.UTC)
        told = {"id": str(time_ordered(now, 1 << 60 | next(self.rows))), "done_at": now.isoformat()}
        answer = self.client.post("/bare/turn", json.dumps(told | self.row), "application/json")
        assert answer.status_code == 200, answer.content


def run(options: Options) -> Result:
    shapes = (FULL_SHORT, FULL_LONG) if options.full else (SHORT, LONG)
    with copy_of("log", shapes[0]) as one, copy_of("log", shapes[1]) as other:
        with time_machine.travel(NOW):
            short, long = Side(one, shapes[0]), Side(other, shapes[1])
            short.begin()
            long.begin()
            counts = short.count(), long.count()
            _measure(short, long)
        return _result(short, long, *counts)


def _measure(short: Side, long: Side) -> None:
    began = time.perf_counter()
    for _ in range(BATCHES // 2):
        short.batch()
        long.batch()
    for _ in range(ROUNDS):
        short.round()
        long.round()
        if time.perf_counter() - began > PATIENCE_SECONDS:
            break


def _result(short: Side, long: Side, few: Counted, many: Counted) -> Result:
    spreads = [
        spread(f"{name}, {record} record", values)
        for record, side in (("short", short), ("long", long))
        for name, values in (
            ("a child's first turn of the day", side.first),
            ("one turn", side.real),
            ("bare view", side.bare),
            (f"a line of {IN_A_BATCH}", side.batched),
        )
    ]
    at = {each.name: each.median for each in spreads}
    ratios = {r: at[f"one turn, {r} record"] / at[f"bare view, {r} record"] for r in RECORDS}
    batch = {
        r: at[f"a line of {IN_A_BATCH}, {r} record"] / at[f"one turn, {r} record"] for r in RECORDS
    }
    limits = [
        Limit(f"one turn against the bare view, {r} record", ratios[r], MOST_RATIO) for r in RECORDS
    ]
    limits += [
        Limit(f"a line of {IN_A_BATCH} against a single one, {r} record", batch[r], MOST_IN_BATCH)
        for r in RECORDS
    ]
    limits += [
        Limit(
            "the ratio at the long record against that at the short",
            ratios["long"] / ratios["short"],
            MOST_GROWTH,
        ),
        Limit("queries more at the long record", abs(many.queries - few.queries), 0),
        Limit("rows read more at the long record", abs(many.rows - few.rows), 0),
    ]
    about = {
        "short record": short.shape.told(),
        "long record": long.shape.told(),
        f"queries of {COUNTED_CALLS} calls": f"{few.queries} and {many.queries}",
        f"rows read by {COUNTED_CALLS} calls": f"{few.rows} and {many.rows}",
    }
    return Result("log", about, spreads, limits)


RECORDS = ("short", "long")
