"""Many rows at once are stored as bulk_create stores them."""

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import Model

from progression.models import Attempt, Drill, LadderVersion, Strike, Surface
from readiness.models import FaultTally
from studio.db import bulk
from studio.models import ClassGroup, Meeting
from tests.support.cast import NOW, TODAY, Cast

pytestmark = pytest.mark.django_db

# An hour in another zone than the database's, with parts of a second.
ELSEWHERE = datetime.datetime(
    2026, 3, 4, 1, 2, 3, 45, datetime.timezone(datetime.timedelta(hours=-5, minutes=-30))
)


def attempts(cast: Cast) -> list[Attempt]:
    """With every kind of column a log has: each with something in it, empty, and odd."""
    drill, surface = Drill.objects.all()[0], Surface.objects.all()[0]
    common: dict[str, Any] = {
        "child": cast.mai, "drill": drill, "surface": surface, "author": cast.ines,
        "sender": cast.ines, "day": TODAY, "received_at": NOW, "source": Attempt.Source.PAPER,
        "digest": "d" * 64,
    }  # fmt: skip
    full = Attempt(
        **common, id=uuid.UUID(int=1), done_at=ELSEWHERE, support=3, caught=True, clean=False,
        faults=["low-back-only", "«ü» \t\n\\N \"'"], graded=True, flags=["clock"],
        less_reason="a\\b%%", device="tablet \t\n\r\\N \\. , %s ü 😀", device_time=NOW,
        clock={"page": "ab", "mono": 1.5, "offset": -3, "none": None, "b": [True, {}]},
        schema=2,
    )  # fmt: skip
    empty = Attempt(**common, id=uuid.UUID(int=2), done_at=NOW, support=0, graded=False, value=7)
    large = Attempt(
        **common, id=uuid.UUID(int=2**128 - 1), done_at=NOW, support=1, graded=False, value=1 / 3
    )
    return [full, empty, large]


def ladders(_: Cast) -> list[LadderVersion]:
    return [
        LadderVersion(number=7, content={"ü": [1, 2.5, None]}, digest="", from_day=TODAY,
                      loaded_at=ELSEWHERE),
        LadderVersion(number=8, content=[], digest="", from_day=TODAY, loaded_at=NOW),
    ]  # fmt: skip


def meetings(cast: Cast) -> list[Meeting]:
    days = [TODAY + datetime.timedelta(days=700), TODAY + datetime.timedelta(days=701)]
    group = cast.mai.classes.all()[0]
    return [
        Meeting(group=group, date=days[0], starts_at=datetime.time(17, 30, 15, 2)),
        Meeting(group=group, date=days[1], starts_at=datetime.time(0)),
    ]


def columns_of(model: type[Model]) -> list[str]:
    """By attname, but for a key that the database counts up."""
    fields = model._meta.concrete_fields
    return [field.attname for field in fields if field.get_internal_type() != "BigAutoField"]


def as_stored(model: type[Model]) -> list[tuple[Any, ...]]:
    """Every row as the database has it: each value and, where it is not the column's, its type."""
    how = "{0}::text" if connection.vendor == "postgresql" else "typeof({0}), quote({0})"
    names = [str(model._meta.get_field(name).column) for name in columns_of(model)]
    shown = ", ".join(how.format(connection.ops.quote_name(name)) for name in names)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {shown} FROM {model._meta.db_table}")
        return sorted(cursor.fetchall(), key=str)


def put(objects: Sequence[Model]) -> None:
    """The objects' values by bulk.insert."""
    model = type(objects[0])
    names = columns_of(model)
    bulk.insert(model, names, ([getattr(each, name) for name in names] for each in objects))


@pytest.mark.parametrize("few", [0, bulk.FEW], ids=["as many", "as a few"])
@pytest.mark.parametrize("make", [attempts, ladders, meetings])
def test_every_kind_of_column_is_stored_as_bulk_create_stores_it(
    cast: Cast, make, few, monkeypatch
) -> None:
    monkeypatch.setattr(bulk, "FEW", few)
    objects = make(cast)
    model = type(objects[0])
    before = as_stored(model)
    with transaction.atomic():
        model.objects.bulk_create(objects)
        expected = as_stored(model)
        transaction.set_rollback(True)
    assert as_stored(model) == before != expected
    put(objects)
    assert as_stored(model) == expected


def test_a_uuid_may_be_written_as_text(cast: Cast) -> None:
    each = uuid.uuid4()
    row = (str(each), str(each), "other", cast.omar.pk, NOW, NOW, "")
    assert columns_of(Strike)[:2] == ["id", "attempt_id"]
    bulk.insert(Strike, columns_of(Strike), [row])
    assert Strike.objects.get().pk == each


def test_nothing_to_store_is_no_error(cast: Cast) -> None:
    bulk.insert(Strike, columns_of(Strike), [])
    assert not Strike.objects.exists()


def strikes(cast: Cast, count: int) -> list[Strike]:
    numbers = range(1, count + 1)
    return [
        Strike(id=uuid.UUID(int=number), attempt_id=uuid.UUID(int=number), code="other",
               by=cast.omar, at=NOW, received_at=NOW, digest="")
        for number in numbers
    ]  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_all_rows_are_stored_or_none_of_them(cast: Cast) -> None:
    """Even where the last of several parts holds the row that does not fit."""
    some = strikes(cast, 2 * bulk.AT_ONCE + 1)
    some[-1].attempt_id = some[0].attempt_id
    with pytest.raises(IntegrityError):
        put(some)
    assert not Strike.objects.exists()
    put(some[:-1])
    assert Strike.objects.count() == 2 * bulk.AT_ONCE


@pytest.mark.django_db(transaction=True)
def test_rows_belong_to_the_transaction_under_way(cast: Cast) -> None:
    with transaction.atomic():
        put(strikes(cast, 3))
        assert Strike.objects.count() == 3
        transaction.set_rollback(True)
    assert not Strike.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_what_the_database_refuses_is_told_as_django_tells_it(cast: Cast) -> None:
    wrong = attempts(cast)[0]
    wrong.support = 4
    with pytest.raises(IntegrityError):
        put([wrong])
    missing = attempts(cast)[0]
    missing.child_id = 987654
    with pytest.raises(IntegrityError):
        put([missing])
    assert not Attempt.objects.exists()


def test_a_row_that_is_too_short_or_no_column_is_a_mistake_of_the_caller(cast: Cast) -> None:
    with pytest.raises(ValueError, match="zip"):
        bulk.insert(Drill, ["key"], [("one", "two")])
    with pytest.raises(TypeError, match="has no column"):
        bulk.insert(ClassGroup, ["meetings"], [(1,)])


# --- rows put in the place of others --------------------------------------------------

FAULTS = ("count", "child_id", "drill_id", "day", "fault")
ONCE = ("child_id", "day", "drill_id", "fault")


def fault_rows(cast: Cast, numbers: range, count: int) -> list[tuple[Any, ...]]:
    drill = Drill.objects.all()[0]
    return [(count, cast.mai.pk, drill.pk, TODAY, f"fault %s {number}") for number in numbers]


@pytest.mark.parametrize("many", [1, 2, bulk.PUT_AT_ONCE, 2 * bulk.PUT_AT_ONCE + 1])
def test_put_replaces_rows_that_are_equal_in_the_key_and_adds_the_others(cast, many) -> None:
    bulk.put(FaultTally, FAULTS, fault_rows(cast, range(1, many + 1), 1), ONCE)
    assert FaultTally.objects.filter(count=1).count() == many
    again = range(many, 2 * many + 1)
    bulk.put(FaultTally, FAULTS, fault_rows(cast, again, 7), ONCE)
    assert dict(FaultTally.objects.values_list("fault", "count")) == {
        f"fault %s {number}": 7 if number in again else 1 for number in range(1, 2 * many + 1)
    }


def test_nothing_to_put_is_no_error(cast: Cast) -> None:
    bulk.put(FaultTally, FAULTS, [], ONCE)
    assert not FaultTally.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_what_the_log_holds_is_put_in_no_place(cast: Cast) -> None:
    some = strikes(cast, 1)
    put(some)
    names = columns_of(Strike)
    with pytest.raises(IntegrityError):
        bulk.put(Strike, names, [[getattr(some[0], name) for name in names]], ["attempt_id"])
