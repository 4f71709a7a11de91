"""One password or PIN is hashed at a time for strangers, and one for browsers that are known.

A hash is slow on purpose: it keeps a core busy for a quarter of a second, and a stranger may ask
for as many as they like. Whoever finds the place taken is told so at once. The places hold over
all processes: a lock of PostgreSQL's, or a lock on a file beside an SQLite database.
"""

import contextlib
from collections.abc import Iterator
from pathlib import Path

from django.db import connection

try:
    import fcntl
except ImportError:  # Windows, where one process serves a single hall.
    fcntl = None  # type: ignore[assignment]

# What PostgreSQL's locks are called; any numbers that nothing else here locks.
LOCKS = {True: 7_421_901, False: 7_421_902}


class TooManyAtOnce(Exception):
    """Somebody else's password is being hashed; answered with 429."""


@contextlib.contextmanager
def hashing_place(known: bool) -> Iterator[None]:
    """The place of known browsers, or that of the others. Raises TooManyAtOnce if it is taken."""
    with _postgresql(known) if connection.vendor == "postgresql" else _file(known) as free:
        if not free:
            raise TooManyAtOnce
        yield


@contextlib.contextmanager
def _postgresql(known: bool) -> Iterator[bool]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s)", [LOCKS[known]])
        free = bool(cursor.fetchone()[0])
    try:
        yield free
    finally:
        if free:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(%s)", [LOCKS[known]])


@contextlib.contextmanager
def _file(known: bool) -> Iterator[bool]:
    if fcntl is None:
        yield True
        return
    database = Path(connection.settings_dict["NAME"])
    name = f"{database.name}.hashing-{'known' if known else 'unknown'}"
    with database.with_name(name).open("a") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            yield False
            return
        yield True
