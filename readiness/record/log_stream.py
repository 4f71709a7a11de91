"""A child's turns read from the log in a stream, for whoever folds years of them."""

import datetime
import json
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import QuerySet, TextField
from django.db.models.functions import Cast

from progression.log.logbook import Keys
from progression.models import Attempt
from readiness.engine.tallies import Turn
from studio.db.prepared import prepared

# So many turns are held in memory.
AT_ONCE = 2000
UUID_DIGITS = 32

Form = Callable[[Any], Any]


def _as_text(name: str) -> Cast:
    """Nothing is made of the value on its way here."""
    return Cast(name, TextField())


@prepared
def _turns_of(child: int) -> QuerySet[Any, Any]:
    """In the order of the engine's turn."""
    attempts = Attempt.objects.filter(child=child).unstruck().order_by("day")
    return attempts.with_graded_now().values_list(
        _as_text("id"), "drill_id", "surface_id", "support", "author_id", _as_text("day"),
        _as_text("done_at"), "graded_now", "clean", "value", "caught", _as_text("faults"),
    )  # fmt: skip


class LogStream:
    """Reads years of turns, which would take far longer row by row and value by value: the
    columns come in the plainest form and are brought into the engine's one at a time."""

    def __init__(self, keys: Keys) -> None:
        drills = {pk: key for key, pk in keys.drills.items()}
        surfaces = {pk: key for key, pk in keys.surfaces.items()}
        on_sqlite = connection.vendor == "sqlite"
        self._forms: dict[str, Form] = {
            "id": dashed,
            "drill": drills.__getitem__,
            "surface": surfaces.__getitem__,
            "day": datetime.date.fromisoformat,
            # SQLite has no truth values of its own in what is worked out.
            "graded": bool,
            "at": _utc if on_sqlite else datetime.datetime.fromisoformat,
            "faults": _faults,
        }

    def turns(self, child: int) -> Iterator[Turn]:
        """The child's unstruck turns, day by day."""
        forms = [self._forms.get(name) for name in Turn._fields]
        statement, values = _turns_of.plain(child)
        with connection.chunked_cursor() as cursor:
            cursor.execute(statement, values)
            while rows := cursor.fetchmany(AT_ONCE):
                yield from map(Turn, *map(_formed, forms, zip(*rows, strict=True)))


def _formed(form: Form | None, values: Sequence[Any]) -> Sequence[Any]:
    return values if form is None else list(map(form, values))


@lru_cache(maxsize=1000)
def _faults(text: str) -> tuple[str, ...]:
    """Most turns have none, and most others the same few."""
    return tuple(json.loads(text))


def dashed(number: str) -> str:
    """A UUID as it is written; SQLite has the digits alone."""
    if len(number) > UUID_DIGITS:
        return number
    return f"{number[:8]}-{number[8:12]}-{number[12:16]}-{number[16:20]}-{number[20:]}"


def _utc(text: str) -> datetime.datetime:
    """SQLite has moments without their zone."""
    return datetime.datetime.fromisoformat(f"{text}+00:00")
