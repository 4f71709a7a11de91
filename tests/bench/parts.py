"""One turn, a day and some ids of a log in parts of a year, against the same log in one piece.

On PostgreSQL. The log is parted by the statements of docs/scale.md, a part for each of its years.
"""

import datetime
import re
from collections.abc import Callable

import time_machine
from django.db import connection, transaction

from progression.models import Attempt
from readiness.record.evidence_loader import unstruck_on
from studio.models import Child
from tests.bench.kept import copy_of
from tests.bench.log import FULL_LONG, LONG, Side
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import NOW
from tests.bench.site import ROOT

TURNS, LOOKS = 200, 200
SOME_IDS = 5

MOST_RATIO = 1.2
# Every part's index is looked into.
MOST_LOOKING = 2.5


def run(options: Options) -> Result:
    shape = FULL_LONG if options.full else LONG
    with copy_of("log", shape) as copy, copy_of("log", shape, "parted") as parted:
        if connection.vendor != "postgresql":
            raise SystemExit("parts: say with --database which PostgreSQL; SQLite parts no tables.")
        with time_machine.travel(NOW):
            whole, parts = Side(copy, shape), Side(parted, shape)
            with parted.used():
                took, count = ms(part_by_years), _parts()
            measured = _measured(whole, parts)
    about = {
        "record": shape.told(),
        "parts": count,
        "seconds to make them": round(took / 1000, 1),
    }
    spreads = [
        spread(f"{what}, {where}", values)
        for what, both in measured.items()
        for where, values in zip(("in one piece", "in parts"), both, strict=True)
    ]
    at = {each.name: each.median for each in spreads}
    limits = [
        Limit(what, at[f"{what}, in parts"] / at[f"{what}, in one piece"], most)
        for what, most in zip(measured, (MOST_RATIO, MOST_LOOKING, MOST_LOOKING), strict=True)
    ]
    return Result("parts", about, spreads, limits)


def part_by_years() -> None:
    """What docs/scale.md says, with the parts of all years that are in the log."""
    page = (ROOT / "docs" / "scale.md").read_text()
    (statements,) = re.findall(r"```sql\nBEGIN;\n(.*?)COMMIT;\n```", page, re.S)
    first = Attempt.objects.order_by("day").values_list("day", flat=True)[0].year
    more = "".join(
        f"CREATE TABLE attempt_{year} PARTITION OF attempt_parted FOR VALUES "
        f"FROM (first_id_of('{year}-01-01 00:00Z')) TO (first_id_of('{year + 1}-01-01 00:00Z'));\n"
        for year in range(first, 2025)
    )
    before, after = statements.split("CREATE TABLE attempt_other", 1)
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"{before}{more}CREATE TABLE attempt_other{after}")
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE progression_attempt")


def _parts() -> int:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_inherits WHERE inhparent = 'progression_attempt'::regclass"
        )
        return int(cursor.fetchone()[0])


def _measured(whole: Side, parts: Side) -> dict[str, tuple[list[float], list[float]]]:
    sides = (whole, parts)
    for side in sides:
        side.begin()
    found: dict[str, tuple[list[float], list[float]]] = {}
    for what, work, times in (
        ("one turn", lambda side: side.log_one, TURNS),
        ("a child's day", lambda side: _days(side), LOOKS),
        (f"{SOME_IDS} ids looked up", lambda side: _ids(side), LOOKS),
    ):
        found[what] = ([], [])
        for _ in range(4):
            for side, values in zip(sides, found[what], strict=True):
                with side.copy.used():
                    each = work(side)
                    each()
                    values += [ms(each) for _ in range(times // 4)]
    return found


def _days(side: Side) -> Callable[[], object]:
    """The turns of one child on one day, each time another day."""
    child = Child.objects.order_by("pk")[0].pk
    days = iter(range(2, 10_000, 2))
    return lambda: unstruck_on({child: child}, NOW.date() - datetime.timedelta(days=next(days)))


def _ids(side: Side) -> Callable[[], object]:
    """The first turns of one child on days of several years."""
    turns = Attempt.objects.filter(child=Child.objects.order_by("pk")[1]).order_by("day")
    ids, many = turns.values_list("pk", flat=True), turns.count()
    some = [ids[nth * many // SOME_IDS] for nth in range(SOME_IDS)]
    return lambda: list(Attempt.objects.filter(pk__in=some).values_list("pk", "digest"))
