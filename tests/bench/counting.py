"""Counting what is asked of the database, and the rows that come back."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch

from django.db import connection
from django.db.backends.utils import CursorWrapper
from django.test.utils import CaptureQueriesContext


@dataclass
class Counted:
    queries: int = 0
    rows: int = 0


@contextmanager
def counted() -> Iterator[Counted]:
    """Queries and rows of everything done in it; slower than without."""
    found = Counted()

    def one(self: CursorWrapper, *args: Any) -> Any:
        row = self.cursor.fetchone(*args)
        found.rows += row is not None
        return row

    def many(name: str) -> Any:
        def fetch(self: CursorWrapper, *args: Any) -> Any:
            rows = getattr(self.cursor, name)(*args)
            found.rows += len(rows)
            return rows

        return fetch

    def each(self: CursorWrapper) -> Any:
        for row in self.cursor:
            found.rows += 1
            yield row

    ways = {"fetchone": one, "fetchmany": many("fetchmany"), "fetchall": many("fetchall")}
    with ExitStack() as stack:
        for name, way in {**ways, "__iter__": each}.items():
            stack.enter_context(patch.object(CursorWrapper, name, way, create=True))
        queries = stack.enter_context(CaptureQueriesContext(connection))
        yield found
    found.queries = len(queries)
