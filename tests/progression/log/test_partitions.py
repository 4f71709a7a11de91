"""The log of turns parted by ranges of its ids, on PostgreSQL, by the SQL of docs/scale.md.

Range partitioning and its rules: https://www.postgresql.org/docs/15/ddl-partitioning.html.
"""

import datetime
import json
import re
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from progression.models import Attempt, Strike
from readiness.models import DayTally
from readiness.record.intake import take_lines
from tests.support.cast import NOW, TODAY, Cast, Logged, time_ordered_id

pytestmark = pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite parts no tables")

PAGE = Path(__file__).resolve().parents[3] / "docs" / "scale.md"
LAST_YEAR = TODAY - datetime.timedelta(days=100)
LONG_AGO = datetime.date(2023, 5, 3)


def first_column(statement: str) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return [row[0] for row in cursor.fetchall()]


def run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def constraints(table: str) -> set[tuple[str, str]]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT contype::text, pg_get_constraintdef(oid) FROM pg_constraint "
            "WHERE conrelid = %s::regclass",
            [table],
        )
        return set(cursor.fetchall())


@pytest.fixture
def parted(cast: Cast, log: Logged) -> Logged:
    """Turns of three years, and then the table parted as the page says."""
    for day in (LONG_AGO, LAST_YEAR, TODAY):
        log(cast.mai, "wall-shrugs", [8, 9], day=day)
    (page,) = re.findall(r"```sql\n(BEGIN;.*?COMMIT;)\n```", PAGE.read_text(), re.S)
    # The test has a transaction of its own, in which no check of a key may be left over.
    connection.check_constraints()
    run(page.removeprefix("BEGIN;").removesuffix("COMMIT;"))
    return log


def test_every_turn_lies_in_the_part_of_its_year_and_none_is_lost(parted):
    def days(part: str) -> set[datetime.date]:
        return set(first_column(f"SELECT day FROM {part}"))

    assert (days("attempt_2025"), days("attempt_2026")) == ({LAST_YEAR}, {TODAY})
    assert days("attempt_other") == {LONG_AGO}
    assert Attempt.objects.count() == first_column("SELECT count(*) FROM attempt_whole")[0] == 6


def test_the_parted_table_has_every_column_key_and_check_of_the_whole_one(parted):
    assert constraints("progression_attempt") == constraints("attempt_whole")
    columns = (
        "SELECT column_name || data_type || is_nullable || coalesce(column_default, '') "
        "FROM information_schema.columns WHERE table_name = '{}' ORDER BY ordinal_position"
    )
    assert first_column(columns.format("progression_attempt")) == first_column(
        columns.format("attempt_whole")
    )
    assert "attempt_child_day" in first_column(
        "SELECT indexname FROM pg_indexes WHERE tablename = 'progression_attempt'"
    )


def parts_read(statement: str) -> set[str]:
    (plan,) = first_column(f"EXPLAIN (FORMAT JSON) {statement}")
    text = plan if isinstance(plan, str) else json.dumps(plan)
    return set(re.findall(r'"Relation Name": "(\w+)"', text))


def test_a_range_of_ids_and_a_single_id_read_the_parts_that_hold_them_and_no_others(parted):
    first = time_ordered_id(NOW - datetime.timedelta(days=7))
    last = time_ordered_id(NOW + datetime.timedelta(days=1))
    table = "SELECT * FROM progression_attempt"
    assert parts_read(f"{table} WHERE id >= '{first}' AND id < '{last}'") == {"attempt_2026"}
    some = Attempt.objects.get(day=LAST_YEAR, value=8)
    assert parts_read(f"{table} WHERE id = '{some.pk}'") == {"attempt_2025"}
    assert parts_read(f"{table} WHERE child_id = 1") == {
        "attempt_2025", "attempt_2026", "attempt_other",
    }  # fmt: skip


def test_the_log_goes_on_and_takes_every_turn_once(parted, cast):
    (attempt,) = parted(cast.mai, "wall-shrugs", [10])
    assert first_column(f"SELECT count(*) FROM attempt_2026 WHERE id = '{attempt.pk}'") == [1]
    at = NOW.isoformat()
    line = {
        "kind": "turn", "id": str(time_ordered_id(NOW, 99)), "at": at, "child": str(cast.mai.uuid),
        "drill": "wall-shrugs", "surface": "sprung-dance-floor", "support": 0, "value": 11,
    }  # fmt: skip
    strike = {
        "kind": "strike", "id": str(time_ordered_id(NOW, 100)), "at": at,
        "turn": str(attempt.pk), "code": "wrong-tap",
    }  # fmt: skip
    for answer in ("kept", "had"):
        answers = take_lines(cast.meeting, cast.omar, "t", NOW, [line, strike], 1, NOW)
        assert [each.answer for each in answers] == [answer, answer]
    assert Attempt.objects.count() == 8
    assert Strike.objects.count() == 1
    assert sum(DayTally.objects.filter(day=TODAY).values_list("turns", flat=True)) == 3


def refused(error: type[Exception], statement: str, match: str) -> None:
    with pytest.raises(error, match=match), transaction.atomic():
        run(statement)


@pytest.mark.parametrize("table", ["progression_attempt", "attempt_2026", "attempt_other"])
def test_no_row_can_be_changed_or_deleted_in_the_whole_or_in_a_part(parted, table):
    before = list(Attempt.objects.order_by("pk").values())
    refused(DatabaseError, f"UPDATE {table} SET device = 'changed'", "append-only")
    refused(DatabaseError, f"DELETE FROM {table}", "append-only")
    assert list(Attempt.objects.order_by("pk").values()) == before


def test_an_id_stands_once_and_a_row_that_breaks_a_rule_is_refused(parted, cast):
    copy = "INSERT INTO progression_attempt SELECT (jsonb_populate_record(a, '{}')).* FROM " + (
        f"progression_attempt a WHERE day = '{TODAY}' LIMIT 1"
    )
    refused(IntegrityError, copy.format("{}"), "duplicate key")
    new = uuid.uuid4()
    rule = "attempt_outcome_or_value"
    refused(IntegrityError, copy.format(json.dumps({"id": str(new), "clean": True})), rule)
    assert Attempt.objects.count() == 6
    run(copy.format(json.dumps({"id": str(new), "author_id": 999_999})))
    # Keys are looked at when the transaction ends, or when asked.
    with pytest.raises(IntegrityError, match="foreign key"):
        connection.check_constraints()
    transaction.set_rollback(True)
