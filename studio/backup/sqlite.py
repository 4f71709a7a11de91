"""An SQLite database copied while others write, and put in the place of another one."""

import contextlib
import hashlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

from django.utils.translation import gettext as _

from studio.backup.container import BackupError, private_file, sync_folder
from studio.backup.running import InUse, alone, server_lock_of

Tables = dict[str, tuple[int, str]]
SIDE_FILES = ("-wal", "-shm", "-journal")


class Sqlite:
    vendor = "sqlite"

    def __init__(self, file: str) -> None:
        self.file = Path(file).absolute()

    def copy_out(self, data: Path) -> Tables:
        """One consistent copy of all of it; what is written meanwhile is not in it."""
        private_file(data).close()
        source = contextlib.closing(
            sqlite3.connect(f"file:{quote(str(self.file))}?mode=ro", uri=True)
        )
        with source as here, contextlib.closing(sqlite3.connect(data)) as there:
            # In one step: in several it begins again after every write, and may never end.
            here.backup(there)
            there.execute("PRAGMA journal_mode=DELETE")
            _refuse_damaged(there)
            return _tables(there)

    def scratch(self, folder: Path) -> "Sqlite":
        return Sqlite(str(folder / "scratch.sqlite3"))

    def beside(self) -> "Sqlite":
        """Where the restored database is prepared: on the same disk, to be renamed only."""
        return Sqlite(f"{self.file}.restoring")

    def load(self, data: Path) -> Tables:
        """Replace what is here by a backup's data; its rows and digests as they are now."""
        self.remove()
        with private_file(self.file) as stream, data.open("rb") as source:
            while part := source.read(1 << 20):
                stream.write(part)
        with contextlib.closing(sqlite3.connect(self.file)) as here:
            _refuse_damaged(here)
            return _tables(here)

    def remove(self) -> None:
        for end in ("", *SIDE_FILES):
            Path(f"{self.file}{end}").unlink(missing_ok=True)

    @property
    def url(self) -> str:
        return f"sqlite:///{quote(str(self.file))}"

    @contextlib.contextmanager
    def nobody_in_it(self) -> Iterator[None]:
        try:
            with alone(server_lock_of(self.file)):
                yield
        except InUse as error:
            raise BackupError(
                _("The server is running: stop it first. Nothing was changed.")
            ) from error

    def replace_by(self, other: "Sqlite", stamp: str) -> str:
        """Take another's place; what was here is kept under the name that is returned."""
        other.close_journal()
        kept = ""
        if self.file.exists():
            self.close_journal()
            kept = str(self.file.with_name(f"{self.file.stem}.before-{stamp}{self.file.suffix}"))
            for end in SIDE_FILES:
                if (side := Path(f"{self.file}{end}")).exists():
                    side.replace(f"{kept}{end}")
            _keep_as(self.file, Path(kept))
        other.file.replace(self.file)
        sync_folder(self.file.parent)
        return kept

    def close_journal(self) -> None:
        """Bring the journal into the file, which only the sole connection to it can do."""
        # Somebody who is just ending has these seconds to.
        with contextlib.closing(sqlite3.connect(self.file, timeout=5)) as here:
            try:
                here.execute("PRAGMA journal_mode=DELETE").fetchall()
            except sqlite3.OperationalError as error:
                if "locked" in str(error):
                    raise BackupError(
                        _("Somebody is using the database: end that first. Nothing was changed.")
                    ) from error
                raise
            except sqlite3.DatabaseError:
                # What is here is no database any more. It is kept as it is, journal and all.
                return


def _keep_as(file: Path, kept: Path) -> None:
    """Under a second name, so that at no moment there is no database here; by a rename where the
    disk knows of no second names."""
    try:
        kept.hardlink_to(file)
    except OSError:
        file.replace(kept)


def _refuse_damaged(connection: sqlite3.Connection) -> None:
    (found,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    if found != "ok" or connection.execute("PRAGMA foreign_key_check").fetchone():
        raise BackupError(_("The database is damaged: %(what)s") % {"what": found})


def _tables(connection: sqlite3.Connection) -> Tables:
    names = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' "
        "ORDER BY name"
    ).fetchall()
    return {name: _digest(connection, name) for (name,) in names}


def _digest(connection: sqlite3.Connection, table: str) -> tuple[int, str]:
    digest, rows = hashlib.sha256(), 0
    quoted = '"' + table.replace('"', '""') + '"'
    for row in connection.execute(f"SELECT * FROM {quoted} ORDER BY rowid"):  # noqa: S608
        digest.update(repr(row).encode())
        rows += 1
    return rows, digest.hexdigest()
