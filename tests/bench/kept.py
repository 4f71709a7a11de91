"""Databases with a record in them: made once, kept, and copied for each run.

On SQLite they are files under var/bench, on PostgreSQL databases beside the one named. Each is
named by a digest of the code that made it: another code makes another one, and what is no longer
of use goes.
"""

import datetime
import hashlib
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.core.management import call_command
from django.db import connection

from tests.bench.record import NOW, Shape, make

ROOT = Path(__file__).resolve().parent.parent.parent
FOLDER = ROOT / "var" / "bench"
# What a record is made of.
MADE_BY = [
    "fixtures/ladder.toml",
    "progression/log/line*.py",
    "progression/log/logbook.py",
    "progression/migrations/0*.py",
    "readiness/engine/**/*.py",
    "readiness/migrations/0*.py",
    "readiness/record/day_tallies.py",
    "readiness/record/standings.py",
    "studio/migrations/0*.py",
    "tests/bench/record.py",
]


@dataclass(frozen=True)
class Copy:
    """A database of this run alone; ``with copy.used():`` makes it the project's."""

    name: str

    @property
    def url(self) -> str:
        """For another process."""
        if connection.vendor == "sqlite":
            return f"sqlite:///{self.name}"
        return f"{os.environ['DATABASE_URL'].rsplit('/', 1)[0]}/{self.name}"

    @contextmanager
    def used(self) -> Iterator[None]:
        before = _point_at(self.name)
        try:
            yield
        finally:
            _point_at(before)


@contextmanager
def copy_of(name: str, shape: Shape, which: str = "") -> Iterator[Copy]:
    """A copy of the kept studio of this shape, made first where there is none; ``which`` tells
    one copy from another."""
    store = _Databases() if connection.vendor == "postgresql" else _Files()
    kept = store.named(f"{name}_{shape.turns}_{_digest(shape)}")
    if not store.has(kept):
        store.drop_older(f"{name}_{shape.turns}_")
        # Under another name first: what is there by its name is whole.
        with new(f"half_{name}", shape, NOW) as half:
            store.rename(half.name, kept)
    copied = store.named(f"run_{os.getpid()}_{name}{which}_{shape.turns}")
    store.copy(kept, copied)
    try:
        yield Copy(copied)
    finally:
        store.drop(copied)


@contextmanager
def new(name: str, shape: Shape, now: datetime.datetime) -> Iterator[Copy]:
    """A studio of this shape, made for this run."""
    store = _Databases() if connection.vendor == "postgresql" else _Files()
    made = Copy(store.named(f"run_{os.getpid()}_{name}_{shape.turns}"))
    store.create(made.name)
    try:
        with made.used():
            call_command("migrate", verbosity=0)
            make(shape, now)
            if connection.vendor == "postgresql":
                with connection.cursor() as cursor:
                    cursor.execute("VACUUM ANALYZE")
        yield made
    finally:
        store.drop(made.name)


def _digest(shape: Shape) -> str:
    found = hashlib.sha256(repr(shape).encode())
    for pattern in MADE_BY:
        for file in sorted(ROOT.glob(pattern)):
            found.update(file.name.encode() + b"\0" + file.read_bytes())
    return found.hexdigest()[:10]


def _point_at(name: str) -> str:
    """Make the project's connection go to another database; answers the one before."""
    connection.close()
    if hasattr(connection, "close_pool"):
        connection.close_pool()
    before = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = name
    return str(before)


class _Files:
    """SQLite: one file each."""

    def named(self, name: str) -> str:
        return str(FOLDER / f"{name}.sqlite3")

    def has(self, name: str) -> bool:
        return Path(name).exists()

    def create(self, name: str) -> None:
        FOLDER.mkdir(parents=True, exist_ok=True)
        self.drop(name)

    def rename(self, name: str, other: str) -> None:
        Path(name).rename(other)

    def copy(self, name: str, other: str) -> None:
        shutil.copyfile(name, other)

    def drop(self, name: str) -> None:
        for ending in ("", "-wal", "-shm"):
            Path(name + ending).unlink(missing_ok=True)

    def drop_older(self, beginning: str) -> None:
        for file in FOLDER.glob(f"{beginning}*.sqlite3"):
            self.drop(str(file))


class _Databases:
    """PostgreSQL: databases whose names begin with that of the one named."""

    def __init__(self) -> None:
        self.main = os.environ["DATABASE_URL"].rsplit("/", 1)[1].split("?")[0]

    def named(self, name: str) -> str:
        return f"{self.main}_{name}"

    def has(self, name: str) -> bool:
        return bool(self._ask("SELECT 1 FROM pg_database WHERE datname = %s", [name]))

    def create(self, name: str) -> None:
        self._tell(f'CREATE DATABASE "{name}"')

    def rename(self, name: str, other: str) -> None:
        self._tell(f'ALTER DATABASE "{name}" RENAME TO "{other}"')

    def copy(self, name: str, other: str) -> None:
        self._tell(f'CREATE DATABASE "{other}" TEMPLATE "{name}"')

    def drop(self, name: str) -> None:
        self._tell(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')

    def drop_older(self, beginning: str) -> None:
        like = self.named(beginning).replace("_", r"\_") + "%"
        for (name,) in self._ask("SELECT datname FROM pg_database WHERE datname LIKE %s", [like]):
            self.drop(name)

    def _tell(self, statement: str) -> None:
        with Copy(self.main).used(), connection.cursor() as cursor:
            cursor.execute(statement)

    def _ask(self, question: str, values: list[str]) -> list[tuple[str]]:
        with Copy(self.main).used(), connection.cursor() as cursor:
            cursor.execute(question, values)
            return list(cursor.fetchall())
