"""The page of all children, five hundred, against a page whose rows and words are ready.

The bare view reads the same columns of five hundred standings and renders the same template. Both
are called in turns, on a short and on a long record of the same children, with nothing kept in the
process. The first look of a day, at which every child is read, is measured beside it.
"""

import datetime
import gc
import time
from typing import Any

import time_machine
from django.db.models import QuerySet
from django.test import Client

from readiness.models import Standing
from readiness.review import views
from studio.models import Staff
from tests.bench import bare_views
from tests.bench.counting import Counted, counted
from tests.bench.kept import Copy, copy_of
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import NOW, Shape

SHORT = Shape(children=500, days=2, a_day=10, every=4)
LONG = Shape(children=500, days=200, a_day=10, every=4)
FULL_SHORT = Shape(children=500, days=20, a_day=10, every=4)
FULL_LONG = Shape(children=500, days=2000, a_day=10, every=4)

ROUNDS = 15
A_ROUND = 2
PATIENCE_SECONDS = 150

MOST_RATIO = 2.0
MOST_FIRST_LOOK_SECONDS = 5.0
FIRST_LOOKS = 2
MOST_GROWTH = 1.1
RECORDS = ("short", "long")


class Side:
    """One record, and what was measured on it. Its standings are those of today."""

    def __init__(self, copy: Copy, shape: Shape) -> None:
        self.copy, self.shape = copy, shape
        self.real: list[float] = []
        self.bare: list[float] = []
        self.first: list[float] = []
        with copy.used():
            self.client = Client()
            self.client.force_login(Staff.objects.get(role=Staff.Role.DIRECTOR))
            self.look()
            self.context = self._context()
            assert Standing.objects.filter(read_on=NOW.date()).count() == shape.children

    def _context(self) -> dict[str, Any]:
        """What the real view renders its page with, read to the end."""
        found: dict[str, Any] = {}
        plain = views.render

        def keep(request: Any, template: str, context: dict[str, Any], **more: Any) -> Any:
            found.update(context)
            return plain(request, template, context, **more)

        views.render = keep
        try:
            self.look()
        finally:
            views.render = plain
        return {k: list(v) if isinstance(v, QuerySet) else v for k, v in found.items()}

    def count(self) -> Counted:
        with self.copy.used(), counted() as found:
            self.look()
        return found

    def round(self) -> None:
        bare_views.ready = self.context
        with self.copy.used():
            # With the connection new, nothing of it is counted.
            assert self.look().count(b"<tr>") == self.look_at_bare().count(b"<tr>")
            for _ in range(A_ROUND):
                self.real.append(ms(self.look))
                self.bare.append(ms(self.look_at_bare))

    def first_look(self) -> None:
        """As if the last look had been a day before."""
        with self.copy.used():
            Standing.objects.update(read_on=NOW.date() - datetime.timedelta(days=1))
            self.first.append(ms(self.look))

    def look(self) -> bytes:
        return self._get("/review/all")

    def look_at_bare(self) -> bytes:
        return self._get("/bare/board")

    def _get(self, address: str) -> bytes:
        answer = self.client.get(address)
        assert answer.status_code == 200, answer.content
        return bytes(answer.content)


def run(options: Options) -> Result:
    shapes = (FULL_SHORT, FULL_LONG) if options.full else (SHORT, LONG)
    with copy_of("board", shapes[0]) as one, copy_of("board", shapes[1]) as other:
        with time_machine.travel(NOW):
            short, long = Side(one, shapes[0]), Side(other, shapes[1])
            counts = short.count(), long.count()
            # As the server does (studio/wsgi.py): what stays is not looked through again and again.
            gc.collect()
            gc.freeze()
            began = time.perf_counter()
            for _ in range(ROUNDS):
                short.round()
                long.round()
                if time.perf_counter() - began > PATIENCE_SECONDS:
                    break
            for _ in range(FIRST_LOOKS):
                short.first_look()
                long.first_look()
        return _result(short, long, *counts)


def _result(short: Side, long: Side, few: Counted, many: Counted) -> Result:
    spreads = [
        spread(f"{name}, {record} record", values)
        for record, side in zip(RECORDS, (short, long), strict=True)
        for name, values in (
            ("review", side.real),
            ("ready page", side.bare),
            ("first look of a day", side.first),
        )
    ]
    at = {each.name: each.median for each in spreads}
    limits = [
        Limit(
            f"the review against the ready page, {record} record",
            at[f"review, {record} record"] / at[f"ready page, {record} record"],
            MOST_RATIO,
        )
        for record in RECORDS
    ]
    growth = at["review, long record"] / at["review, short record"]
    limits.append(Limit("the review at the long record against the short", growth, MOST_GROWTH))
    limits += [
        Limit(
            f"the first look of a day in seconds, {record} record",
            at[f"first look of a day, {record} record"] / 1000,
            MOST_FIRST_LOOK_SECONDS,
        )
        for record in RECORDS
    ]
    about = {
        "short record": short.shape.told(),
        "long record": long.shape.told(),
        "queries": f"{few.queries} and {many.queries}",
        "rows read": f"{few.rows} and {many.rows}",
        "the ready page at the long record against the short": round(
            at["ready page, long record"] / at["ready page, short record"], 3
        ),
    }
    return Result("board", about, spreads, limits)
