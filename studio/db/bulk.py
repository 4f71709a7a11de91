"""Many rows written to one table without making an object for each.

What is stored is what ``bulk_create`` stores: values are brought into the database's own form by
the same rules, but a column at a time. Nothing fills itself in as it does when an object is saved:
no default, no time of saving.
Shared: used by the logbook and by day tallies.
"""

import json
import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial
from itertools import chain, islice
from typing import Any, TypeAlias

from django.db import connections, router, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Field, ForeignKey, JSONField, Model

Row = Sequence[Any]
Column: TypeAlias = "Field[Any, Any]"
Adapter = Callable[[Any], Any]

# So many rows are brought into the database's form at once; no more are held in memory.
AT_ONCE = 1000
# So many are put by one statement, and so few inserted.
PUT_AT_ONCE, FEW = 100, 5

# Kinds of fields whose values any database takes as they are, and those that PostgreSQL has a type
# of its own for.
PLAIN = {
    "AutoField", "BigAutoField", "BooleanField", "CharField", "FloatField", "IntegerField",
    "PositiveIntegerField", "PositiveSmallIntegerField", "SlugField", "TextField",
}  # fmt: skip
PLAIN_ON_POSTGRES = {"DateField", "DateTimeField", "TimeField", "UUIDField"}


def insert(
    model: type[Model], fields: Sequence[str], rows: Iterable[Row], using: str | None = None
) -> None:
    """Insert rows of values in the order of ``fields``, which are attnames (``child_id``).

    ``using``: the alias of another database than the model's own. All of them are stored; or
    none, with the database's reason as Django raises it (IntegrityError and so on).
    """
    table = _Table.of(model, fields, using)
    some = iter(rows)
    first = list(islice(some, FEW + 1))
    if len(first) <= FEW:
        _execute(table, first, "")
        return
    parts = _adapted(chain(first, some), table.adapters, AT_ONCE)
    with transaction.atomic(using=table.connection.alias, savepoint=False):
        if table.connection.vendor == "postgresql":
            _copy(table, parts)
        else:
            _execute_many(table, parts)


def put(model: type[Model], fields: Sequence[str], rows: Iterable[Row], key: Sequence[str]) -> None:
    """Insert rows, or put them in the place of those that are equal to them in ``key``.

    ``key``: the attnames of a unique constraint. No two of the rows may be equal in it.
    """
    some = iter(rows)
    while part := list(islice(some, PUT_AT_ONCE)):
        table = _Table.of(model, fields)
        _execute(table, part, table.in_place_by(key))


@dataclass(frozen=True)
class _Table:
    """Where rows go; ``adapters``: what brings each column's values into the database's form,
    None where they are in it already."""

    connection: BaseDatabaseWrapper
    model: type[Model]
    names: Sequence[str]
    adapters: Sequence[Adapter | None]

    @classmethod
    def of(cls, model: type[Model], fields: Sequence[str], using: str | None = None) -> "_Table":
        connection = connections[using or router.db_for_write(model)]
        columns = [_column(model, name) for name in fields]
        names = [connection.ops.quote_name(str(column.column)) for column in columns]
        return cls(connection, model, names, [_adapter(column, connection) for column in columns])

    @property
    def into(self) -> str:
        table = self.connection.ops.quote_name(self.model._meta.db_table)
        return f"{table} ({', '.join(self.names)})"

    @property
    def one(self) -> str:
        return f"({', '.join(['%s'] * len(self.names))})"

    def in_place_by(self, key: Sequence[str]) -> str:
        quote = self.connection.ops.quote_name
        by = [quote(str(_column(self.model, name).column)) for name in key]
        others = [f"{name} = excluded.{name}" for name in self.names if name not in by]
        return f" ON CONFLICT ({', '.join(by)}) DO UPDATE SET {', '.join(others)}"


@cache
def _column(model: type[Model], name: str) -> Column:
    field = model._meta.get_field(name)
    if not isinstance(field, Field):
        raise TypeError(f"{name} has no column")
    return field


def _execute(table: _Table, rows: Sequence[Row], ending: str) -> None:
    """Some rows by one statement; nothing without any."""
    for part in _adapted(rows, table.adapters, AT_ONCE):
        values = ", ".join([table.one] * len(part))
        with table.connection.cursor() as cursor:
            cursor.execute(
                f"INSERT INTO {table.into} VALUES {values}{ending}",  # noqa: S608
                [value for row in part for value in row],
            )


def _copy(table: _Table, parts: Iterable[list[Row]]) -> None:
    with (
        table.connection.cursor() as cursor,
        table.connection.wrap_database_errors,
        cursor.copy(f"COPY {table.into} FROM STDIN") as copy,
    ):
        for part in parts:
            for row in part:
                copy.write_row(row)


def _execute_many(table: _Table, parts: Iterable[list[Row]]) -> None:
    statement = f"INSERT INTO {table.into} VALUES {table.one}"  # noqa: S608
    with table.connection.cursor() as cursor:
        for part in parts:
            cursor.executemany(statement, part)


def _adapted(
    rows: Iterable[Row], adapters: Sequence[Adapter | None], at_once: int
) -> Iterator[list[Row]]:
    """The rows in parts, each value in the form in which the database takes it."""
    rows = iter(rows)
    while part := list(islice(rows, at_once)):
        columns = zip(adapters, zip(*part, strict=True), strict=True)
        yield list(zip(*(_apply(adapt, values) for adapt, values in columns), strict=True))


def _apply(adapt: Adapter | None, values: Sequence[Any]) -> Sequence[Any]:
    if adapt is None:
        return values
    return [None if value is None else adapt(value) for value in values]


def _digits(value: uuid.UUID | str) -> str:
    return value.replace("-", "") if isinstance(value, str) else value.hex


def _adapter(field: Column, connection: BaseDatabaseWrapper) -> Adapter | None:
    """What brings a value of this field into the database's form; None: it is in it already."""
    while isinstance(field, ForeignKey):
        field = field.target_field
    kind, on_postgres = field.get_internal_type(), connection.vendor == "postgresql"
    if kind in PLAIN or (on_postgres and kind in PLAIN_ON_POSTGRES):
        return None
    if isinstance(field, JSONField):
        return partial(json.dumps, cls=field.encoder)
    match kind:
        case "UUIDField":
            return _digits
        case "DateField":
            return str
        case "DateTimeField":
            return connection.ops.adapt_datetimefield_value
    return partial(field.get_db_prep_save, connection=connection)
