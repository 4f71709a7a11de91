"""Locks on files that tell one process what others are doing: a server that runs, a backup that
is being made.

The system lets go of a lock when its process ends, however it ends. Windows has none of this kind;
there a file that is open cannot be renamed, which ends a restore just as well.
Shared: used by the server's start.
"""

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper


class InUse(Exception):
    """Somebody else holds the lock."""


def server_lock_of(database: str | Path) -> Path:
    """The file that every process of a server keeps locked, beside an SQLite database."""
    return Path(f"{database}.running")


def say_server_runs(connection: BaseDatabaseWrapper) -> None:
    """Hold the server's lock until this process ends. PostgreSQL knows by itself who is in it."""
    if connection.vendor == "sqlite":
        with contextlib.suppress(OSError, InUse):
            _lock(server_lock_of(connection.settings_dict["NAME"]), shared=True)


@contextlib.contextmanager
def alone(file: Path) -> Iterator[None]:
    """Hold a lock that nobody else may hold meanwhile; InUse if somebody does."""
    handle = _lock(file, shared=False)
    try:
        yield
    finally:
        os.close(handle)


def _lock(file: Path, shared: bool) -> int:
    handle = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
    if sys.platform != "win32":
        import fcntl

        kind = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        try:
            fcntl.flock(handle, kind | fcntl.LOCK_NB)
        except BlockingIOError as error:
            os.close(handle)
            raise InUse from error
    return handle
