"""One password or PIN is hashed at a time for strangers, and one for browsers that are known.

A hash is slow on purpose: it keeps a core busy for a quarter of a second, and a stranger may ask
for as many as they like. Whoever finds the place taken waits for it, a second at most: refused
without a wait, a dozen who guess without end keep every thread busy with refusals, and a tablet's
call took four times as long (docs/benchmarks.md, door). Where some wait already, the next is
refused at once, as each holds a thread. The places hold over all processes: a lock of PostgreSQL's,
or a lock on a file beside an SQLite database.
"""

import contextlib
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from django.db import connection

try:
    import fcntl
except ImportError:  # Windows, where one process serves a single hall.
    fcntl = None  # type: ignore[assignment]

# What PostgreSQL's locks are called; any numbers that nothing else here locks.
LOCKS = {True: 7_421_901, False: 7_421_902}

SECONDS_TO_WAIT, SECONDS_BETWEEN_TRIES = 1.0, 0.05
# Of the 16 threads of a process (studio/gunicorn.conf.py), so many may wait.
MOST_WAITING = 6
_may_wait = {known: threading.BoundedSemaphore(MOST_WAITING) for known in LOCKS}
_first_in_line = {known: threading.Lock() for known in LOCKS}


class TooManyAtOnce(Exception):
    """Somebody else's password is being hashed; answered with 429."""


@contextlib.contextmanager
def hashing_place(known: bool) -> Iterator[None]:
    """The place of known browsers, or that of the others. Raises TooManyAtOnce if it is not free
    within a second, or too many wait for it."""
    with contextlib.ExitStack() as taken:
        if not _may_wait[known].acquire(blocking=False):
            raise TooManyAtOnce
        try:
            ends = time.monotonic() + SECONDS_TO_WAIT
            first = _first_in_line[known]
            if not first.acquire(timeout=SECONDS_TO_WAIT):
                raise TooManyAtOnce
            taken.callback(first.release)
            place = _postgresql if connection.vendor == "postgresql" else _file
            if not taken.enter_context(place(known, ends)):
                raise TooManyAtOnce
        finally:
            _may_wait[known].release()
        yield


def _until(ends: float, take: Callable[[], bool]) -> bool:
    """Try to take it until then; whether it was taken."""
    while not take():
        if time.monotonic() >= ends:
            return False
        time.sleep(SECONDS_BETWEEN_TRIES)
    return True


@contextlib.contextmanager
def _postgresql(known: bool, ends: float) -> Iterator[bool]:
    def take() -> bool:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_lock(%s)", [LOCKS[known]])
            return bool(cursor.fetchone()[0])

    free = _until(ends, take)
    try:
        yield free
    finally:
        if free:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(%s)", [LOCKS[known]])


@contextlib.contextmanager
def _file(known: bool, ends: float) -> Iterator[bool]:
    if fcntl is None:
        yield True
        return
    database = Path(connection.settings_dict["NAME"])
    name = f"{database.name}.hashing-{'known' if known else 'unknown'}"
    with database.with_name(name).open("a") as file:

        def take() -> bool:
            with contextlib.suppress(OSError):
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                return True
            return False

        yield _until(ends, take)
