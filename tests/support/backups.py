"""Backups made and put back in tests, beside the tests' own database."""

import contextlib
import gc
import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper

from studio.backup.making import database_of
from tests.support.browser.killable import database_url

ROOT = Path(__file__).resolve().parents[2]


def make(**options: object) -> Path:
    """A new backup; the newest file of the folder."""
    call_command("backup", stdout=StringIO(), **options)
    return max(Path(str(options.get("to") or settings.BACKUP_DIR)).glob("ladder-*"))


@contextlib.contextmanager
def elsewhere(name: str) -> Iterator[None]:
    """The program as it uses another database. The connections to the tests' own are closed."""
    before = connection.settings_dict["NAME"]
    close()
    connection.settings_dict["NAME"] = name
    try:
        yield
    finally:
        close()
        connection.settings_dict["NAME"] = before


def close() -> None:
    """No connection of this process to the database."""
    connection.close()
    # Nor of a thread of an earlier test that has left its own open. By the type: isinstance()
    # would have lazy objects of other tests evaluated.
    for each in gc.get_objects():
        if issubclass(type(each), BaseDatabaseWrapper) and each.connection is not None:
            each.connection.close()
            each.connection = None
    if connection.vendor == "postgresql":
        connection.close_pool()


def scratch_name(folder: Path) -> str:
    """Of a database beside the tests' own, which is not there yet."""
    if connection.vendor == "sqlite":
        return str(folder / "hall.sqlite3")
    return f"{connection.settings_dict['NAME']}_hall"


def remove(name: str) -> None:
    with elsewhere(name):
        database_of(connection).remove()


def remove_kept() -> None:
    """Remove what restores kept of the tests' own database; a file goes with its folder."""
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        prefix = f"{connection.settings_dict['NAME']}_before_"
        cursor.execute("SELECT datname FROM pg_database WHERE starts_with(datname, %s)", [prefix])
        found = [name for (name,) in cursor.fetchall()]
    for name in found:
        remove(name)


def ask(name: str, statement: str) -> list[tuple[Any, ...]]:
    """What another database answers."""
    if connection.vendor == "sqlite":
        with contextlib.closing(sqlite3.connect(name)) as there:
            return there.execute(statement).fetchall()
    with elsewhere(name), connection.cursor() as cursor:
        cursor.execute(statement)
        return list(cursor.fetchall())


def start(
    *arguments: str, preexec_fn: Callable[[], None] | None = None, **environment: str
) -> subprocess.Popen[str]:
    """One of the program's commands in a process of its own, on the database in use."""
    about = {"DATABASE_URL": database_url(), "DJANGO_SETTINGS_MODULE": "tests.settings"}
    return subprocess.Popen(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        env=os.environ | about | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        preexec_fn=preexec_fn,
    )
