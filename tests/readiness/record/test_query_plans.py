"""No page and no tap reads a table of turns from end to end.

Every query that a page makes is explained by the database that the tests run on, over a few
thousand rows that the database has counted (ANALYZE): a planner that knows of few rows would
read them all, whatever indexes there are.
"""

import datetime
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from progression.models import Attempt, Drill, Strike, Surface
from readiness.letters.sentence import Sentence
from readiness.models import DayTally, FaultTally
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.ready import ready_to_be_signed

TABLES = {model._meta.db_table: model for model in (Attempt, Strike, DayTally, FaultTally)}
CHILDREN, DAYS, TURNS_A_DAY = 50, 80, 3
FAULTS = ["legs-apart", "over-arched", "head-thrown"]
LATER = NOW + datetime.timedelta(hours=2)


@pytest.fixture(autouse=True)
def _frozen() -> Iterator[None]:
    with time_machine.travel(LATER, tick=False):
        yield


@pytest.fixture
def long_record(cast, log):
    """Mai is ready to be signed. A long record stands beside Mai's, in two halls, older
    than anything that a page shows of the last weeks; half of it was struck."""
    ready_to_be_signed(cast, log)
    drills, surface = list(Drill.objects.order_by("pk")[:10]), Surface.objects.order_by("pk")[0]
    turns, tallies, faults = [], [], []
    for number in range(CHILDREN):
        child = make_child(f"Child {number}", cast.far if number % 2 else cast.red)
        for back in range(DAYS):
            day = TODAY - datetime.timedelta(days=60 + 7 * back)
            at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
            drill = drills[(number + back) % len(drills)]
            first = time_ordered_id(at, number)
            common = {"child": child, "drill": drill, "day": day}
            author = {"surface": surface, "support": 3, "author": cast.ines}
            turns += [
                Attempt(
                    id=first if turn == 0 else time_ordered_id(at, turn), **common, **author,
                    sender=cast.ines, done_at=at, clean=True, graded=True, source="floor",
                    received_at=at, digest="-",
                )
                for turn in range(TURNS_A_DAY)
            ]  # fmt: skip
            tallies.append(
                DayTally(
                    **common, **author, turns=3, clean=3, graded=3, graded_clean=3,
                    stop_signs=0, first_at=at, first_id=first, first_graded=True,
                )
            )  # fmt: skip
            faults += [FaultTally(**common, fault=fault, count=1) for fault in FAULTS]
    Attempt.objects.bulk_create(turns, batch_size=1000)
    DayTally.objects.bulk_create(tallies, batch_size=1000)
    FaultTally.objects.bulk_create(faults, batch_size=1000)
    Strike.objects.bulk_create(
        Strike(
            id=time_ordered_id(turn.done_at), attempt_id=turn.pk, code="wrong-tap", by=cast.ines,
            at=turn.done_at, received_at=turn.done_at, digest="-",
        )
        for turn in turns[::2]
    )  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return cast


# --- what the database says of a query -------------------------------------------------


def full_scans(sql: str) -> list[str]:
    """The tables of turns that a query reads from end to end."""
    named = [table for table in TABLES if f'"{table}"' in sql]
    if not named or not sql.lstrip("(").startswith(("SELECT", "UPDATE", "DELETE")):
        return []
    found = _scans_in_sqlite(sql) if connection.vendor == "sqlite" else _scans_in_postgres(sql)
    return sorted(set(named) & set(found))


def _scans_in_sqlite(sql: str) -> Iterator[str]:
    """https://sqlite.org/eqp.html: SCAN is a full scan, of the table or of an index; a column
    that is ANY is gone through with all its values (https://sqlite.org/optoverview.html, 7)."""
    tables = {alias: table for table, alias in re.findall(r'"(\w+)" ([UT]\d+)\b', sql)}
    with connection.cursor() as cursor:
        cursor.execute("EXPLAIN QUERY PLAN " + sql.replace("%", "%%"), [])
        details = [row[3] for row in cursor.fetchall()]
    for detail in details:
        scan = re.match(r"SCAN (\w+)|SEARCH (\w+) .*\(ANY\(", detail)
        if scan:
            name = scan[1] or scan[2]
            yield tables.get(name, name)


def _scans_in_postgres(sql: str) -> Iterator[str]:
    """https://www.postgresql.org/docs/15/using-explain.html: a sequential scan, or one of an
    index whose first column is not looked up. Of a table as small as this one's the planner
    may read every page although an index would serve, so it is asked not to."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute("EXPLAIN (FORMAT JSON) " + sql)
        plan = cursor.fetchone()[0]
        cursor.execute("SET LOCAL enable_seqscan = on")
    nodes = [(json.loads(plan) if isinstance(plan, str) else plan)[0]["Plan"]]
    while nodes:
        node = nodes.pop()
        nodes += node.get("Plans", [])
        if node["Node Type"] == "Seq Scan":
            yield node["Relation Name"]
        elif "Index Name" in node:
            table, first = _table_and_first_column(node["Index Name"])
            if not re.search(rf"\b{first}\b", node.get("Index Cond", "")):
                yield table


def _table_and_first_column(index: str) -> tuple[str, str]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT indrelid::regclass::text, pg_get_indexdef(indexrelid, 1, true) "
            "FROM pg_index WHERE indexrelid = %s::regclass",
            [index],
        )
        return cursor.fetchone()


class Watched:
    """The queries of a page that named a table of turns, and those that read one whole."""

    def __init__(self) -> None:
        self.named = 0
        self.scanned: dict[str, list[str]] = {}


@contextmanager
def watched() -> Iterator[Watched]:
    found = Watched()
    with CaptureQueriesContext(connection) as captured:
        yield found
    for query in captured.captured_queries:
        sql = query["sql"]
        found.named += any(f'"{table}"' in sql for table in TABLES)
        tables = full_scans(sql)
        if tables:
            found.scanned[sql] = tables


# --- the check itself ------------------------------------------------------------------

FOUND_BY_NO_INDEX: dict[str, Callable[[], object]] = {
    "a column without an index": lambda: list(Attempt.objects.filter(device="tablet 3")),
    "a whole table": lambda: list(DayTally.objects.all()),
    "the second column of an index": lambda: list(Attempt.objects.filter(day=TODAY)),
    "a whole index": lambda: list(Strike.objects.order_by("pk").values("pk")),
    "a subquery": lambda: list(
        Attempt.objects.filter(pk__in=Strike.objects.filter(code="other").values("attempt_id"))
    ),
    "a change": lambda: FaultTally.objects.filter(count__gt=7).update(count=7),
}


def test_a_query_that_no_index_serves_is_noticed(long_record):
    noticed = {}
    for kind, ask in FOUND_BY_NO_INDEX.items():
        with watched() as found:
            ask()
        noticed[kind] = found.named, len(found.scanned)
    assert noticed == dict.fromkeys(FOUND_BY_NO_INDEX, (1, 1))


def test_a_query_that_an_index_serves_is_not(long_record):
    mai = long_record.mai
    with watched() as found:
        list(Attempt.objects.filter(child=mai, day=TODAY))
        list(Attempt.objects.filter(pk=time_ordered_id(NOW)))
        list(DayTally.objects.filter(child=mai).select_related("drill"))
    assert found.named == 3
    assert found.scanned == {}


# --- what the pages ask -----------------------------------------------------------------

WORKED_ON = Sentence("In the last four weeks Mai worked on this:")
# Who looks, where, and how many queries about turns that takes at least.
PAGES = [
    ("omar", "/floor/{meeting}/pack", 3),
    ("omar", "/classes/{group}", 0),
    ("omar", "/children/{child}", 4),
    ("petra", "/children/{child}/evidence/4", 2),
    ("omar", "/children/{child}/letter", 2),
    ("omar", f"/children/{{child}}/letter/rests-on/{WORKED_ON.key}", 5),
    ("omar", "/children/{child}/letters", 0),
    ("omar", "/letters/classes/{group}", 1),
    ("omar", "/classes/{group}/causes", 1),
    ("petra", "/causes", 1),
    ("petra", "/review", 2),
    ("petra", "/review/all", 0),
    ("petra", "/review/logs", 1),
]


def visit(client, who, address: str) -> Watched:
    client.force_login(who)
    with watched() as found:
        response = client.get(address)
    assert response.status_code == 200, address
    return found


def test_no_page_reads_all_the_turns_of_everybody(long_record, log, client):
    cast = long_record
    log(cast.ilse, "safe-fall", "0", support=0, faults=("reaches-behind",))
    # The first list on a day reads every child that it shows; from then on they are read.
    visit(client, cast.petra, "/review")
    for who, page, least in PAGES:
        address = page.format(meeting=cast.meeting.uuid, group=cast.blue.uuid, child=cast.mai.uuid)
        found = visit(client, getattr(cast, who), address)
        assert found.named >= least, page
        assert found.scanned == {}, page


def test_no_tap_reads_all_the_turns_of_everybody(long_record, client):
    cast = long_record
    client.force_login(cast.omar)
    at = timezone.now()
    lines = [
        {
            "kind": "turn", "id": str(time_ordered_id(at, number)), "at": at.isoformat(),
            "child": str(child.uuid), "drill": "back-walkover",
            "surface": "sprung-dance-floor", "support": 1, "clean": number > 0,
            "faults": [] if number else ["legs-apart"],
        }
        for number, child in enumerate([cast.mai, cast.mai, cast.ilse])
    ]  # fmt: skip
    strike = {
        "kind": "strike", "id": str(time_ordered_id(at, 9)), "at": at.isoformat(),
        "turn": lines[1]["id"], "code": "wrong-tap",
    }  # fmt: skip
    for some in (lines, [strike]):
        body = {"v": 1, "device": "t", "sent_at": at.isoformat(), "lines": some}
        with watched() as found:
            response = client.post(
                f"/floor/{cast.meeting.uuid}/attempts", json.dumps(body), "application/json"
            )
        assert {line["answer"] for line in response.json()["lines"]} == {"kept"}
        assert found.named >= 6
        assert found.scanned == {}
