"""A restored record is the backup's, brought up to this release; what was there is kept."""

import sqlite3
import sys
import threading
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from progression.models import SigningKey
from studio.models import Studio, Tablet
from tests.support.backups import ask, elsewhere, make, remove, scratch_name, start
from tests.support.cast import NOW, Cast, Logged


@pytest.fixture
def record(transactional_db, cast: Cast, log: Logged, tmp_path, settings) -> Cast:
    settings.BACKUP_DIR = tmp_path / "backups"
    log(cast.mai, "back-walkover", "1101101")
    log(cast.ilse, "bridge-line", [2, 3])
    return cast


@pytest.fixture
def hall(record: Cast, tmp_path: Path) -> Iterator[str]:
    """A database beside the tests' own, which is not there yet."""
    name = scratch_name(tmp_path)
    yield name
    for other in [name, *kept_beside(name)]:
        remove(other)


def kept_beside(name: str) -> list[str]:
    """The databases that restores kept."""
    if connection.vendor == "sqlite":
        return [str(each) for each in Path(name).parent.glob("hall.before-*.sqlite3")]
    with connection.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE datname LIKE %s", [f"{name}_before%"])
        return [found for (found,) in cursor.fetchall()]


def restore(file: Path, name: str) -> str:
    said = StringIO()
    with elsewhere(name):
        call_command("restore", str(file), stdout=said)
    return said.getvalue()


def turns(name: str) -> int:
    return ask(name, "SELECT count(*) FROM progression_attempt")[0][0]


def test_into_an_empty_place(record, hall):
    assert "as it was" in restore(make(), hall)
    assert turns(hall) == 9
    assert kept_beside(hall) == []


def test_what_is_there_is_kept_beside_it(record, hall, log):
    early = make()
    log(record.mai, "back-walkover", "11")
    restore(make(), hall)
    said = restore(early, hall)
    (kept,) = kept_beside(hall)
    assert Path(kept).name in said
    assert turns(kept) == 11
    assert turns(hall) == 9


def test_sign_ins_and_tablets_end_and_the_log_has_a_new_name(record, hall):
    client = Client()
    client.force_login(record.petra)
    Tablet.objects.create(
        name="Blue case", location=record.hall, secret_digest="0",
        enrolled_by=record.petra, enrolled_at=NOW,
    )  # fmt: skip
    SigningKey.objects.create(staff=record.omar, public_key="not asked here", enrolled_at=NOW)
    before = str(Studio.objects.get().log)
    restore(make(), hall)
    assert ask(hall, "SELECT count(*) FROM django_session") == [(0,)]
    still = "SELECT count(*) FROM progression_signingkey WHERE ended_at IS NULL"
    assert ask(hall, still) == [(0,)]
    assert ask(hall, "SELECT count(*) FROM studio_tablet WHERE withdrawn_at IS NULL") == [(0,)]
    assert ask(hall, "SELECT count(*) FROM studio_restore WHERE looked_at IS NULL") == [(1,)]
    ((log,),) = ask(hall, "SELECT log FROM studio_studio")
    assert str(log).replace("-", "") != before.replace("-", "")


def test_a_damaged_file_changes_nothing(record, hall):
    restore(make(), hall)
    file = make()
    file.write_bytes(file.read_bytes()[:-200])
    with pytest.raises(CommandError):
        restore(file, hall)
    assert turns(hall) == 9
    assert kept_beside(hall) == []


@pytest.mark.skipif(sys.platform == "win32", reason="no such locks there")
def test_a_running_server_is_refused(record, hall):
    """SQLite: the server's lock. PostgreSQL: somebody is in the database."""
    file = make()
    restore(file, hall)
    with elsewhere(hall):
        server = start("shell", "-c", RUNNING)
        assert server.stdout is not None
        for line in server.stdout:
            if "runs" in line:
                break
    try:
        with pytest.raises(CommandError, match=r"server"):
            restore(file, hall)
    finally:
        server.kill()
        server.communicate()
    assert kept_beside(hall) == []
    # It has ended, however it ended.
    restore(file, hall)


RUNNING = """
import time
from django.db import connection
import studio.wsgi
connection.ensure_connection()
print("runs", flush=True)
time.sleep(120)
"""


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="asks PostgreSQL's activity")
def test_who_is_about_to_leave_is_waited_for(record, hall):
    file = make()
    restore(file, hall)
    with elsewhere(hall):
        about = connection.get_connection_params()
    about = {key: about[key] for key in ("host", "port", "user", "password") if key in about}
    leaving = connection.Database.connect(dbname=hall, **about)
    later = threading.Timer(1, leaving.close)
    later.start()
    restore(file, hall)
    later.join()
    assert turns(hall) == 9


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="asks SQLite's journal")
def test_side_files_of_the_old_database_do_not_come_into_the_new_one(record, hall, log):
    early = make()
    log(record.mai, "back-walkover", "11")
    restore(make(), hall)
    # As a killed server leaves it: what was written last is in the journal alone.
    killed = start("shell", "-c", KILLED, DATABASE_URL=f"sqlite:///{hall}")
    killed.communicate()
    assert Path(f"{hall}-wal").stat().st_size > 0
    restore(early, hall)
    assert not Path(f"{hall}-wal").exists()
    assert turns(hall) == 9
    (kept,) = kept_beside(hall)
    assert ask(kept, "SELECT name FROM studio_studio") == [("Written last",)]


KILLED = """
import os, signal
from studio.models import Studio
Studio.objects.update(name="Written last")
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="harms a file")
def test_a_database_that_is_none_any_more_is_replaced_and_kept(record, hall):
    Path(hall).write_bytes(b"no database" * 1000)
    Path(f"{hall}-wal").write_bytes(b"nor a journal")
    restore(make(), hall)
    assert turns(hall) == 9
    (kept,) = kept_beside(hall)
    assert Path(kept).read_bytes() == b"no database" * 1000


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="uses a file")
def test_somebody_in_the_middle_of_a_write_is_not_cut_off(record, hall):
    file = make()
    restore(file, hall)
    with sqlite3.connect(hall, isolation_level=None) as other:
        other.execute("PRAGMA journal_mode=WAL")
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE studio_studio SET name = 'Busy'")
        with pytest.raises(CommandError, match="using the database"):
            restore(file, hall)
        other.execute("COMMIT")
    other.close()
    assert ask(hall, "SELECT name FROM studio_studio") == [("Busy",)]
    assert kept_beside(hall) == []
