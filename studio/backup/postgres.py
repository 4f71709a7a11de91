"""A PostgreSQL database dumped while others write, and put in the place of another one.

By PostgreSQL's own tools, which must be installed here and be no older than the server.
"""

import contextlib
import hashlib
import os
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
from django.utils.translation import gettext as _
from psycopg import sql
from psycopg.conninfo import make_conninfo

from studio.backup.container import BackupError, private_file

Tables = dict[str, tuple[int, str]]

# Seconds. PostgreSQL itself waits as long for others before it renames a database.
LEAVING = 5.0


@dataclass(frozen=True)
class Postgres:
    name: str
    user: str
    password: str
    host: str
    port: str

    vendor = "postgresql"

    @classmethod
    def of(cls, about: dict[str, Any]) -> "Postgres":
        names = ("NAME", "USER", "PASSWORD", "HOST", "PORT")
        return cls(*(str(about.get(name) or "") for name in names))

    def copy_out(self, data: Path) -> Tables:
        """A dump, with rows and digests of the very same moment."""
        private_file(data).close()
        with self._connect() as connection, connection.transaction():
            connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            (snapshot,) = connection.execute("SELECT pg_export_snapshot()").fetchone() or ("",)
            self._run("pg_dump", "--format=custom", *WITHOUT_OWNERS, f"--snapshot={snapshot}",
                      f"--file={data}", self.name)  # fmt: skip
            return _tables(connection)

    def scratch(self, folder: Path) -> "Postgres":
        return replace(self, name=f"{self.name}_verifying")

    def beside(self) -> "Postgres":
        return replace(self, name=f"{self.name}_restoring")

    def load(self, data: Path) -> Tables:
        """Make the database anew from a dump; its rows and digests as they are now."""
        self.remove()
        with self._server() as server:
            server.execute(
                sql.SQL("CREATE DATABASE {} TEMPLATE template0 ENCODING 'UTF8'").format(self._id)
            )
        self._run("pg_restore", "--exit-on-error", "--single-transaction", *WITHOUT_OWNERS,
                  f"--dbname={self.name}", str(data))  # fmt: skip
        with self._connect() as connection:
            return _tables(connection)

    def remove(self) -> None:
        with self._server() as server:
            server.execute(sql.SQL("DROP DATABASE IF EXISTS {}").format(self._id))

    @property
    def url(self) -> str:
        who = ":".join(quote(each, safe="") for each in (self.user, self.password) if each)
        where = quote(self.host, safe="") + (f":{self.port}" if self.port else "")
        return f"postgres://{who}@{where}/{quote(self.name)}"

    @contextlib.contextmanager
    def nobody_in_it(self) -> Iterator[None]:
        """BackupError if somebody still is after LEAVING: connections of a server that has just
        ended are there a moment longer."""
        until = time.monotonic() + LEAVING
        with self._server() as server:
            while self._clients(server):
                if time.monotonic() > until:
                    raise BackupError(
                        _("Somebody is in the database, a running server perhaps: end that first. "
                          "Nothing was changed.")
                    )  # fmt: skip
                time.sleep(0.1)
        yield

    def _clients(self, server: psycopg.Connection[Any]) -> int:
        """How many are connected; PostgreSQL's own work, a vacuum say, is not counted."""
        (clients,) = server.execute(
            "SELECT count(*) FROM pg_stat_activity "
            "WHERE datname = %s AND backend_type = 'client backend'",
            [self.name],
        ).fetchone() or (0,)
        return int(clients)

    def replace_by(self, other: "Postgres", stamp: str) -> str:
        """Take another's place; what was here is kept under the name that is returned. Both
        renames happen, or none.

        PostgreSQL renames no database that somebody is in.
        """
        kept = replace(self, name=f"{self.name}_before_{stamp}".replace("-", "_"))
        with self._server() as server, server.transaction():
            found = server.execute(
                "SELECT 1 FROM pg_database WHERE datname = %s", [self.name]
            ).fetchone()
            if found:
                _rename(server, self, kept)
            _rename(server, other, self)
        return kept.name if found else ""

    @property
    def _id(self) -> sql.Identifier:
        return sql.Identifier(self.name)

    def _connect(self, name: str = "") -> psycopg.Connection[Any]:
        about = {"user": self.user, "password": self.password, "host": self.host, "port": self.port}
        given = {key: value for key, value in about.items() if value}
        return psycopg.connect(make_conninfo(dbname=name or self.name, **given), autocommit=True)

    @contextlib.contextmanager
    def _server(self) -> Iterator[psycopg.Connection[Any]]:
        """A connection to no database of ours. BackupError with what the server says."""
        try:
            with self._connect("postgres") as connection:
                yield connection
        except psycopg.Error as error:
            raise BackupError(_("The database says: %(reason)s") % {"reason": error}) from error

    def _run(self, tool: str, *arguments: str) -> None:
        where = {"PGUSER": self.user, "PGPASSWORD": self.password, "PGHOST": self.host,
                 "PGPORT": self.port}  # fmt: skip
        given = {key: value for key, value in where.items() if value}
        try:
            subprocess.run([tool, *arguments], env=os.environ | given, check=True,  # noqa: S603
                           capture_output=True, text=True)  # fmt: skip
        except FileNotFoundError as error:
            raise BackupError(
                _("%(tool)s is missing: install PostgreSQL's tools here.") % {"tool": tool}
            ) from error
        except subprocess.CalledProcessError as error:
            reason = error.stderr.strip()[-500:] or f"exit {error.returncode}"
            raise BackupError(
                _("%(tool)s did not end well: %(reason)s") % {"tool": tool, "reason": reason}
            ) from error


WITHOUT_OWNERS = ("--no-owner", "--no-privileges", "--no-password")


def _rename(server: psycopg.Connection[Any], old: Postgres, new: Postgres) -> None:
    names = sql.Identifier(old.name), sql.Identifier(new.name)
    try:
        server.execute(sql.SQL("ALTER DATABASE {} RENAME TO {}").format(*names))
    except psycopg.errors.ObjectInUse as error:
        raise BackupError(
            _("Somebody is in the database: end that first. Nothing was changed.")
        ) from error


def _tables(connection: psycopg.Connection[Any]) -> Tables:
    connection.execute("SET timezone = 'UTC'")
    connection.execute("SET extra_float_digits = 1")
    names = connection.execute(
        "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY 1"
    ).fetchall()
    return {name: _digest(connection, name) for (name,) in names}


def _digest(connection: psycopg.Connection[Any], table: str) -> tuple[int, str]:
    """In the order of the primary key, which every table has."""
    keys = connection.execute(
        "SELECT attname FROM pg_index JOIN pg_attribute ON attrelid = indrelid "
        "AND attnum = ANY (indkey) WHERE indrelid = %s::regclass AND indisprimary ORDER BY attnum",
        [f'public."{table}"'],
    ).fetchall()
    order = sql.SQL(", ").join(sql.Identifier(name) for (name,) in keys) if keys else sql.SQL("1")
    statement = sql.SQL("COPY (SELECT * FROM {} ORDER BY {}) TO STDOUT").format(
        sql.Identifier("public", table), order
    )
    digest, rows = hashlib.sha256(), 0
    with connection.cursor() as cursor, cursor.copy(statement) as copy:
        for part in copy:
            digest.update(part)
            rows += bytes(part).count(b"\n")
    return rows, digest.hexdigest()
