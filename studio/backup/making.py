"""A backup made and checked, and one that exists tried out."""

import contextlib
import datetime
import logging
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils.translation import gettext as _

from studio.backup import container
from studio.backup.container import About, BackupError
from studio.backup.running import InUse, alone
from studio.backup.sqlite import Sqlite
from studio.models import Studio

log = logging.getLogger("ladder.backup")


@dataclass(frozen=True)
class Made:
    """The new file, how much it holds, and which older ones made room for it."""

    file: Path
    tables: int
    rows: int
    removed: Sequence[Path]


def database_of(connection: BaseDatabaseWrapper):  # type: ignore[no-untyped-def]
    """The database that the program uses, as the backup sees it."""
    if connection.vendor == "sqlite":
        return Sqlite(str(connection.settings_dict["NAME"]))
    # Only here: without PostgreSQL its driver is not installed.
    from studio.backup.postgres import Postgres

    return Postgres.of(connection.settings_dict)


@contextlib.contextmanager
def work_folder() -> Iterator[Path]:
    """A folder for what is half done, emptied before and after: one backup or restore at a time.

    What a killed one left behind goes too. Whatever the disk or the database says against it ends
    as BackupError.
    """
    folder = Path(settings.BACKUP_DIR)
    try:
        container.private_folder(folder)
        with alone(folder / ".lock"):
            work = folder / ".work"
            shutil.rmtree(work, ignore_errors=True)
            work.mkdir(mode=0o700)
            try:
                yield work
            finally:
                shutil.rmtree(work, ignore_errors=True)
    except InUse as error:
        raise BackupError(_("Another backup or restore is under way.")) from error
    except (OSError, sqlite3.Error) as error:
        raise BackupError(_("It could not be done: %(reason)s") % {"reason": error}) from error


def make_backup(now: datetime.datetime, to: Path | None, encrypted: bool) -> Made:
    """Copy the database into a new file of the folder, and remove the oldest ones there.

    Raises BackupError, with nothing new in the folder and nothing removed from it.
    """
    database = database_of(connection)
    with work_folder() as work:
        folder = to or Path(settings.BACKUP_DIR)
        container.private_folder(folder)
        tables = database.copy_out(work / "database")
        about = About(
            now.isoformat(),
            database.vendor,
            str(Studio.objects.values_list("log", flat=True).get()),
            _migrations(),
            tables,
            container.digest_of(work / "database"),
        )
        archive = work / "archive"
        container.pack(about, work / "database", archive)
        if container.unpack(archive, work / "again") != about:
            raise BackupError(_("What was written is not what was read."))
        if encrypted:
            archive = work / "archive.age"
            container.encrypt(work / "archive", archive, settings.BACKUP_RECIPIENTS)
        file = folder / container.name_of(now, encrypted)
        _put(archive, file)
        removed = container.rotate(folder, settings.BACKUP_KEEP)
    _note(now)
    rows = sum(count for count, _digest in tables.values())
    log.info("backup made tables=%d rows=%d removed=%d", len(tables), rows, len(removed))
    return Made(file, len(tables), rows, removed)


def _put(archive: Path, file: Path) -> None:
    """The folder may lie on another disk, which may be full or pulled out half-way."""
    unfinished = file.with_name(".unfinished")
    try:
        with container.private_file(unfinished) as stream, archive.open("rb") as source:
            shutil.copyfileobj(source, stream, container.AT_ONCE)
        if container.digest_of(unfinished) != container.digest_of(archive):
            raise BackupError(_("The disk did not keep what was written."))
        container.name_whole(unfinished, file)
    finally:
        unfinished.unlink(missing_ok=True)


def _migrations() -> dict[str, list[str]]:
    applied: dict[str, list[str]] = {}
    for app, name in sorted(MigrationRecorder(connection).applied_migrations()):
        applied.setdefault(app, []).append(name)
    return applied


def _note(now: datetime.datetime) -> None:
    """For the notice on the director's page. An older release's tables have no place for it."""
    with contextlib.suppress(DatabaseError):
        Studio.objects.update(backed_up_at=now)


def open_backup(file: Path, work: Path, identity: Path | None) -> tuple[About, Path]:
    """Unpack a backup; BackupError unless it is whole and this program can read it."""
    if file.suffix == ".age":
        container.decrypt(file, work / "plain", identity)
        file = work / "plain"
    data = work / "database"
    about = container.unpack(file, data)
    if about.vendor != database_of(connection).vendor:
        raise BackupError(
            _("This backup is of %(theirs)s, and this program uses %(ours)s: set DATABASE_URL to "
              "a database of its kind first.")
            % {"theirs": about.vendor, "ours": connection.vendor}
        )  # fmt: skip
    known = MigrationLoader(None).disk_migrations
    for app, names in about.migrations.items():
        if newer := [name for name in names if (app, name) not in known]:
            raise BackupError(
                _("This backup was made by a newer program (%(what)s). Renew the program first.")
                % {"what": f"{app} {newer[0]}"}
            )
    return about, data


def load_checked(database, data: Path, about: About) -> None:  # type: ignore[no-untyped-def]
    """Load a backup's data; BackupError unless every table has its rows and its digest."""
    found = database.load(data)
    wrong = [
        name
        for name in sorted(about.tables.keys() | found.keys())
        if about.tables.get(name) != found.get(name)
    ]
    if wrong:
        raise BackupError(
            _("Not the same as in the backup: %(tables)s.") % {"tables": ", ".join(wrong)}
        )


def verify(file: Path, identity: Path | None) -> About:
    """Restore a backup to a scratch place, bring it up to this release, and compare its counts,
    digests, tallies and standings. Nothing of it stays."""
    with work_folder() as work:
        about, data = open_backup(file, work, identity)
        scratch = database_of(connection).scratch(work)
        try:
            load_checked(scratch, data, about)
            run_on(scratch.url, "migrate", "--verbosity=0")
            run_on(scratch.url, "rebuild_standings", "--check")
        finally:
            scratch.remove()
    return about


def run_on(url: str, *arguments: str) -> None:
    """One of the program's commands in a process of its own, on another database."""
    manage = Path(settings.BASE_DIR) / "manage.py"
    environment = os.environ | {"DATABASE_URL": url, "SECRET_KEY": settings.SECRET_KEY}
    done = subprocess.run(  # noqa: S603
        [sys.executable, str(manage), *arguments],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        said = (done.stdout + done.stderr).strip()[-1000:]
        raise BackupError(f"manage.py {arguments[0]}: {said}")
