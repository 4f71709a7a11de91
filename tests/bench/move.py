"""A whole record moved from SQLite to PostgreSQL, against reading its rows and no more.

Asks for ``--database``: beside the one named, a database is made and dropped for each move.
"""

import os
import subprocess
import sys
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from pathlib import Path

import environ
from django.apps import apps
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections

from tests.bench.kept import Copy, copy_of
from tests.bench.log import FULL_LONG, FULL_SHORT, LONG, SHORT
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import Shape
from tests.bench.site import ROOT

# What the database is called that is spoken to beside the record's own.
BESIDE = "beside"

ROUNDS = 2

MOST_RATIO = 4.0


class Side:
    """One record, how long it took to read all of it and to move it, and what it fills in MB."""

    def __init__(self, copy: Copy, shape: Shape, address: str) -> None:
        self.copy, self.shape, self.address = copy, shape, address
        self.read: list[float] = []
        self.moved: list[float] = []
        self.size = Path(copy.name).stat().st_size / 1e6
        self.size_moved = 0.0

    def round(self) -> None:
        with self.copy.used(), empty_database(self.address) as target:
            self.read.append(ms(read_all))
            self.moved.append(
                ms(lambda: call_command("move_to_postgres", target, stdout=StringIO()))
            )
            self.size_moved = asked(target, "SELECT pg_database_size(current_database())") / 1e6


def read_all() -> None:
    for model in apps.get_models(include_auto_created=True):
        columns = [field.attname for field in model._meta.concrete_fields]
        rows = model._base_manager.order_by("pk").values_list(*columns)
        deque(rows.iterator(), maxlen=0)


@contextmanager
def empty_database(address: str) -> Iterator[str]:
    """The address of a new database, migrated, beside the one at ``address``."""
    target = f"{address}_moved"
    name = target.rsplit("/", 1)[1]
    asked(address, f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
    asked(address, f'CREATE DATABASE "{name}"')
    try:
        _migrate(target)
        yield target
    finally:
        asked(address, f'DROP DATABASE "{name}" WITH (FORCE)')


def asked(address: str, statement: str) -> float:
    """One statement run at an address; the number that it answers, 0 if it answers nothing."""
    settings = connections.configure_settings(
        {DEFAULT_DB_ALIAS: {}, BESIDE: environ.Env.db_url_config(address)}
    )
    connections.settings[BESIDE] = settings[BESIDE]
    try:
        with connections[BESIDE].cursor() as cursor:
            cursor.execute(statement)
            return float(cursor.fetchone()[0]) if cursor.description else 0.0
    finally:
        connections[BESIDE].close()
        del connections[BESIDE], connections.settings[BESIDE]


def _migrate(target: str) -> None:
    command = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    subprocess.run(command, cwd=ROOT, check=True, env={**os.environ, "DATABASE_URL": target})


def run(options: Options) -> Result:
    if options.database is None:
        raise SystemExit("move: say with --database where to move to.")
    shapes = (FULL_SHORT, FULL_LONG) if options.full else (SHORT, LONG)
    with copy_of("log", shapes[0]) as one, copy_of("log", shapes[1]) as other:
        sides = [
            Side(copy, shape, options.database)
            for copy, shape in zip((one, other), shapes, strict=True)
        ]
        for side in sides:
            for _ in range(ROUNDS):
                side.round()
    return _result(*sides)


def _result(short: Side, long: Side) -> Result:
    sides = {"short": short, "long": long}
    spreads = [
        spread(f"{name}, {record} record", values)
        for record, side in sides.items()
        for name, values in (("reading the rows", side.read), ("moving", side.moved))
    ]
    at = {each.name: each.median for each in spreads}
    limits = [
        Limit(
            f"moving against reading, {record} record",
            at[f"moving, {record} record"] / at[f"reading the rows, {record} record"],
            MOST_RATIO,
        )
        for record in sides
    ]
    about: dict[str, object] = {}
    for record, side in sides.items():
        about[f"{record} record"] = side.shape.told()
        about[f"{record} record, MB on SQLite and on PostgreSQL"] = (
            f"{side.size:.0f} and {side.size_moved:.0f}"
        )
    return Result("move", about, spreads, limits)
