"""Queries that are built once and run often.

Django takes longer to build a query than the database takes to answer it. A query that runs with
every turn is therefore written as a function that builds it; Django builds and compiles it once,
and it runs again with other values:

    @prepared
    def digests(ids: Sequence[uuid.UUID]) -> QuerySet: ...

    digests([first, second])   # the rows, as tuples

docs/benchmarks.md has what it saves. Shared: used by the door for turns, standings and the pack.
"""

import datetime
import threading
import uuid
from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import update_wrapper
from typing import Any, TypeGuard

from django.db import connection
from django.db.models import QuerySet

# What a query can be run with: a row's key, text, a public id, a day; several for ``__in``.
Value = int | str | uuid.UUID | datetime.date
Values = Collection[Value]
Row = tuple[Any, ...]


def prepared(build: Callable[..., "QuerySet[Any, Any]"]) -> "Prepared":
    """For a function that builds a ``values_list`` from positional values and nothing else.

    Keywords are not values of the query but choose among queries: each has its own.
    """
    return Prepared(build)


class Prepared:
    """Called with the arguments of the function it wraps, it returns the rows of its query."""

    def __init__(self, build: Callable[..., "QuerySet[Any, Any]"]) -> None:
        self._build = build
        # What Django compiles belongs to a connection, and a connection to a thread.
        self._thread_local = threading.local()
        update_wrapper(self, build)

    def __call__(self, *values: Value | Values, **kind: Hashable) -> list[Row]:
        """The rows in the order of the query; none if a collection of values is empty."""
        given = [_padded(value) if _is_many(value) else value for value in values]
        if [] in given:
            return []
        statement = self._statement(given, kind)
        with connection.cursor() as cursor:
            cursor.execute(statement.sql, statement.bound(given))
            return statement.read(cursor.fetchall())

    def plain(self, *values: Value) -> tuple[str, list[Any]]:
        """The statement and its values, for reading the rows as the database has them."""
        statement = self._statement(values, {})
        return statement.sql, statement.bound(values)

    def _statement(self, given: Sequence[Any], kind: dict[str, Hashable]) -> "_Statement":
        lengths = tuple(len(value) if _is_many(value) else 0 for value in given)
        key = (connection.vendor, lengths, *kind.items())
        known: dict[Hashable, _Statement] | None = getattr(self._thread_local, "statements", None)
        if known is None:
            known = self._thread_local.statements = {}
        if key not in known:
            known[key] = _compiled(self._build, given, kind)
        return known[key]


def _is_many(value: Value | Values) -> TypeGuard[Values]:
    return isinstance(value, list | tuple | set | frozenset)


def _padded(values: Iterable[Value]) -> list[Value]:
    """As many as the next power of two, the last one again and again: the same rows, and not
    a statement of its own for every number."""
    padded = list(values)
    length = 1 << (len(padded) - 1).bit_length() if padded else 0
    return padded + padded[-1:] * (length - len(padded))


@dataclass(frozen=True)
class _Statement:
    """``params`` as compiled; ``slots``: which of them is which value, and of what type."""

    sql: str
    params: tuple[Any, ...]
    slots: tuple[tuple[int, int, Callable[[Any], Any]], ...]
    converters: tuple[tuple[int, Sequence[Callable[..., Any]], Any], ...]

    def bound(self, given: Sequence[Any]) -> list[Any]:
        values = [_adapted(value) for value in _flat(given)]
        params = list(self.params)
        for place, nth, typed in self.slots:
            params[place] = typed(values[nth])
        return params

    def read(self, rows: Sequence[Row]) -> list[Row]:
        """As Django would hand them over."""
        if not self.converters:
            return list(rows)
        columns: list[Sequence[Any]] = list(zip(*rows, strict=True))
        for place, converters, expression in self.converters if rows else ():
            for convert in converters:
                columns[place] = [
                    convert(value, expression, connection) for value in columns[place]
                ]
        return list(zip(*columns, strict=True))


def _flat(given: Sequence[Any]) -> list[Value]:
    return [one for value in given for one in (value if isinstance(value, list) else [value])]


def _compiled(
    build: Callable[..., "QuerySet[Any, Any]"], given: Sequence[Any], kind: dict[str, Hashable]
) -> _Statement:
    """Compile with a mark in the place of each value, and find the marks again."""
    counted = iter(range(1, 1 + len(_flat(given))))
    marks = [
        [_mark(one, next(counted)) for one in value]
        if isinstance(value, list)
        else _mark(value, next(counted))
        for value in given
    ]
    compiler = build(*marks, **kind).query.get_compiler(connection=connection)
    sql, params = compiler.as_sql()
    places = {_adapted(mark): nth for nth, mark in enumerate(_flat(marks))}
    slots = tuple(
        (place, places[param], type(param) if isinstance(param, int) else _as_it_is)
        for place, param in enumerate(params)
        if isinstance(param, Hashable) and param in places
    )
    if {nth for _, nth, _ in slots} != set(places.values()):
        raise ValueError(f"{build.__name__} does not ask for all that it is given")
    columns = [column for column, _, _ in compiler.select[: compiler.col_count]]
    converters = compiler.get_converters(columns)
    quick = tuple(
        (at, [_quick(convert) for convert in of_column], expression)
        for at, (of_column, expression) in converters.items()
    )
    return _Statement(sql, tuple(params), slots, quick)


def _quick(convert: Callable[..., Any]) -> Callable[..., Any]:
    """On SQLite Django asks anew for each moment which zone the database keeps."""
    of_moments = getattr(connection.ops, "convert_datetimefield_value", None)
    return _in_utc if convert == of_moments and connection.timezone is datetime.UTC else convert


def _in_utc(moment: datetime.datetime | str | None, *_about: object) -> datetime.datetime | None:
    """Where it is worked out, SQLite has it as text."""
    if isinstance(moment, str):
        moment = datetime.datetime.fromisoformat(moment)
    return moment and moment.replace(tzinfo=datetime.UTC)


def _as_it_is(value: Any) -> Any:
    return value


def _mark(value: Value, nth: int) -> Value:
    """A value of the same type that no query holds by itself."""
    match value:
        case uuid.UUID():
            return uuid.UUID(int=nth)
        case datetime.date():
            return datetime.date.fromordinal(nth)
        case int():
            # Within what any kind of key can be.
            return 1_000_000_000 + nth
    return f"\x01{nth}"


def _adapted(value: Value) -> Any:
    """As this database is given it."""
    match value:
        case uuid.UUID():
            return value if connection.features.has_native_uuid_field else value.hex
        case datetime.date():
            return connection.ops.adapt_datefield_value(value)
    return value
