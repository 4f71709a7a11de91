"""What a server needs to do its work, tried out."""

import tempfile
from functools import cache
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

OK, FAILS = "ok", "fails"


def health() -> dict[str, str]:
    """By name "ok" or "fails"; nothing else, since whoever asks is not known."""
    return {
        "database": OK if _database_answers() else FAILS,
        "migrations": OK if _all_applied() else FAILS,
        "disk": OK if _can_write(settings.VAR_DIR) else FAILS,
    }


def _database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            return cursor.fetchone() == (1,)
    except DatabaseError:
        return False


def _all_applied() -> bool:
    try:
        applied = MigrationRecorder(connection).applied_migrations()
    except DatabaseError:
        return False
    return _shipped() <= applied.keys()


@cache
def _shipped() -> frozenset[tuple[str, str]]:
    """Those that this program came with: the same for as long as it runs."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    assert loader.disk_migrations is not None
    return frozenset(loader.disk_migrations)


def _can_write(folder: Path) -> bool:
    """A full disk lets an empty file be made: a byte has to go in, too."""
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(b"1")
            file.flush()
    except OSError:
        return False
    return True
