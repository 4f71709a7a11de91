"""A backup is the record of one moment, whole and checked, or there is none."""

import contextlib
import os
import resource
import signal
import sys
import threading
import time
from io import StringIO
from pathlib import Path

import pyrage
import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection

from progression.models import Attempt
from studio.backup import container
from studio.backup.running import alone
from studio.models import Studio
from tests.support.backups import make, start
from tests.support.cast import NOW, Cast, Logged


@pytest.fixture
def folder(tmp_path, settings) -> Path:
    settings.BACKUP_DIR = tmp_path / "backups"
    settings.BACKUP_KEEP = 3
    return settings.BACKUP_DIR


@pytest.fixture
def record(transactional_db, cast: Cast, log: Logged, folder: Path) -> Cast:
    log(cast.mai, "back-walkover", "1101101")
    log(cast.ilse, "bridge-line", [2, 3])
    return cast


def verify(file: Path, **options: object) -> str:
    said = StringIO()
    call_command("backup", verify=file, stdout=said, **options)
    return said.getvalue()


def test_it_is_named_checked_and_noted(record, folder):
    with time_machine.travel(NOW, tick=False):
        file = make()
    assert file.name == "ladder-20260304-170000-000.tar.gz"
    assert Studio.objects.get().backed_up_at == NOW
    assert "can be restored" in verify(file)
    # Nothing half done is left.
    assert {each.name for each in folder.iterdir()} == {file.name, ".lock"}


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_nobody_else_can_read_it(record, folder):
    file = make()
    assert file.stat().st_mode & 0o777 == 0o600
    assert folder.stat().st_mode & 0o777 == 0o700


def test_the_newest_are_kept_and_other_files_are_left_alone(record, folder):
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    for hour in range(5):
        with time_machine.travel(NOW.replace(hour=hour), tick=False):
            make()
    kept = sorted(each.name for each in folder.glob("ladder-*"))
    assert [name[16:18] for name in kept] == ["02", "03", "04"]
    assert (folder / "notes.txt").exists()


def test_it_goes_where_it_is_told(record, folder, tmp_path):
    file = make(to=tmp_path / "stick")
    assert file.parent == tmp_path / "stick"
    assert list(folder.glob("ladder-*")) == []


def test_it_is_encrypted_for_the_keys_of_the_settings(record, folder, settings, tmp_path):
    identity = pyrage.x25519.Identity.generate()
    settings.BACKUP_RECIPIENTS = [str(identity.to_public())]
    key = tmp_path / "key.txt"
    key.write_text(f"# of the studio\n{identity}\n")
    file = make(encrypt=True)
    assert file.name.endswith(".age")
    assert file.read_bytes().startswith(b"age-encryption.org/v1")
    assert "can be restored" in verify(file, identity=key)
    with pytest.raises(CommandError, match="encrypted"):
        verify(file)
    key.write_text(str(pyrage.x25519.Identity.generate()))
    with pytest.raises(CommandError, match="this key"):
        verify(file, identity=key)


def test_without_keys_nothing_is_encrypted_and_nothing_kept(record, folder):
    with pytest.raises(CommandError, match="BACKUP_RECIPIENTS"):
        make(encrypt=True)
    assert list(folder.glob("ladder-*")) == []


@pytest.mark.parametrize("harm", ["cut", "turned", "other"])
def test_a_damaged_one_is_refused(record, harm):
    file = make()
    data = bytearray(file.read_bytes())
    if harm == "cut":
        data = data[: len(data) // 2]
    elif harm == "turned":
        data[len(data) // 2] ^= 0xFF
    else:
        data = bytearray(b"no backup at all")
    file.write_bytes(data)
    with pytest.raises(CommandError, match=r"no backup|damaged|could not"):
        verify(file)


def test_one_whose_rows_are_not_those_it_names_is_refused(record, folder, monkeypatch, tmp_path):
    """A row changed with a digest that fits the file: the table's own digest does not."""
    file = make()
    work = tmp_path / "work"
    work.mkdir()
    about = container.unpack(file, work / "database")
    rows, _digest = about.tables["progression_attempt"]
    about.tables["progression_attempt"] = (rows, "0" * 64)
    container.pack(about, work / "database", file)
    with pytest.raises(CommandError, match="progression_attempt"):
        verify(file)


def test_two_at_once_are_one(record, folder):
    make()
    with alone(folder / ".lock"), pytest.raises(CommandError, match="under way"):
        make()


def test_it_is_one_moment_while_others_write(record, folder, log, tmp_path):
    """A turn and its tally are in it both or neither, whatever is stored meanwhile."""
    stop = threading.Event()

    def write() -> None:
        with contextlib.closing(connection):
            while not stop.is_set():
                log(record.mai, "back-walkover", "11")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        files = [make(to=tmp_path / f"stick{n}") for n in range(3)]
    finally:
        stop.set()
        writer.join()
    for file in files:
        assert "can be restored" in verify(file)
    turns = [turns_in(file, tmp_path) for file in files]
    assert turns[0] < turns[1] < turns[2] <= Attempt.objects.count()


def test_of_an_import_that_is_under_way_it_has_nothing_and_afterwards_all(record, folder, tmp_path):
    log_file = tmp_path / "log.csv"
    lines = ["Date;Child;Drill;Surface;Value;Coach"]
    lines += [f"03.02.2026;{record.mai.name};Log roll;wedge;clean;Omar"] * 30
    log_file.write_text("\n".join(lines), encoding="utf-8")
    half_way = threading.Event()

    def pause(execute, sql, *rest):
        answer = execute(sql, *rest)
        if sql.startswith('INSERT INTO "readiness_daytally"'):
            half_way.set()
            time.sleep(2)
        return answer

    def import_log() -> None:
        with contextlib.closing(connection), connection.execute_wrapper(pause):
            call_command("import_attempts", str(log_file), "--commit", stdout=StringIO())

    before = Attempt.objects.count()
    importing = threading.Thread(target=import_log)
    importing.start()
    assert half_way.wait(60)
    during = make(to=tmp_path / "during")
    importing.join()
    after = make(to=tmp_path / "after")
    assert turns_in(during, tmp_path) == before
    assert turns_in(after, tmp_path) == before + 30
    assert "can be restored" in verify(during)


def turns_in(file: Path, folder: Path) -> int:
    return container.unpack(file, folder / "data").tables["progression_attempt"][0]


def test_killed_half_way_it_leaves_no_backup_and_the_next_one_is_made(record, folder):
    made = make()
    for pause in (0.4, 0.8, 1.0, 1.2):
        process = start("backup", BACKUP_DIR=str(folder))
        time.sleep(pause)
        process.send_signal(signal.SIGKILL)
        process.communicate()
    for file in folder.glob("ladder-*"):
        assert "can be restored" in verify(file)
    assert made.exists()
    make()
    assert {each.name for each in folder.iterdir() if not each.name.startswith("ladder-")} == {
        ".lock"
    }


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
def test_on_a_full_disk_it_says_so_and_keeps_what_was_there(record, folder):
    made = make()
    before = made.read_bytes()

    def full() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

    process = start("backup", BACKUP_DIR=str(folder), preexec_fn=full)
    said, _nothing = process.communicate()
    assert process.returncode == 1
    assert "could not be done" in said or "pg_dump did not end well" in said, said
    assert [each.read_bytes() for each in folder.glob("ladder-*")] == [before]
    assert not (folder / ".work").exists()
