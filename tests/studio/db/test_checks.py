"""What is said of an SQLite file that cannot be trusted where it lies."""

import os
import subprocess
import sys
from io import StringIO
from pathlib import Path, PurePosixPath

import pytest
from django.core.checks import Error, Warning
from django.core.management import call_command
from django.db import OperationalError, connection, connections

from studio.db import checks
from studio.db.checks import findings, log_findings, mount_type, remote_kind

ROOT = Path(__file__).resolve().parents[3]
SQLITE = connection.vendor == "sqlite"
only_sqlite = pytest.mark.skipif(not SQLITE, reason="about the SQLite file")

# The first line is the example of proc_pid_mountinfo(5), Linux man-pages 6; the others have the
# same fields, with no optional field, one and several.
MOUNTINFO = """\
36 35 98:0 /mnt1 /mnt/parent rw,noatime master:1 - ext3 /dev/root rw,errors=continue
22 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
40 22 0:50 / /srv rw,relatime shared:2 master:3 - nfs4 server:/export rw,vers=4.2
41 40 8:2 / /srv/local rw - xfs /dev/sdb1 rw
42 22 0:51 / /media/old\\040drive rw,relatime - cifs //server/share rw
43 22 8:3 / /twice rw - ext4 /dev/sdc1 rw
44 43 0:52 / /twice rw - 9p host rw
"""


@pytest.mark.parametrize(
    ("file", "kind"),
    [
        ("/mnt/parent/studio.sqlite3", "ext3"),
        ("/home/studio.sqlite3", "ext4"),
        ("/srv/studio.sqlite3", "nfs4"),
        ("/srv", "nfs4"),
        ("/srvother/studio.sqlite3", "ext4"),
        ("/srv/local/var/studio.sqlite3", "xfs"),
        ("/media/old drive/studio.sqlite3", "cifs"),
        ("/twice/studio.sqlite3", "9p"),
    ],
)
def test_the_nearest_mount_above_a_file_tells_its_file_system(file, kind):
    assert mount_type(MOUNTINFO, PurePosixPath(file)) == kind


@pytest.mark.parametrize("text", ["", "not a line of it\n"])
def test_a_text_without_mounts_tells_nothing(text):
    assert mount_type(text, PurePosixPath("/srv/studio.sqlite3")) == ""


@pytest.fixture
def mounts(monkeypatch, tmp_path):
    """Say what the machine's mounts are."""

    def mount(text: str) -> None:
        (tmp_path / "mountinfo").write_text(text)
        monkeypatch.setattr(checks, "MOUNTINFO", tmp_path / "mountinfo")

    return mount


@pytest.mark.parametrize(
    ("kind", "expected"),
    [("nfs", "nfs"), ("fuse.sshfs", "fuse.sshfs"), ("ext4", ""), ("btrfs", "")],
)
def test_network_drives_are_known_and_local_disks_are_not_taken_for_one(mounts, kind, expected):
    mounts(f"22 1 8:1 / / rw - {kind} somewhere rw\n")
    assert remote_kind(Path("/var/studio.sqlite3")) == expected


def test_where_nobody_can_tell_nothing_is_said(monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "MOUNTINFO", tmp_path / "not-there")
    assert remote_kind(Path("/var/studio.sqlite3")) == ""


@only_sqlite
def test_a_file_on_a_network_drive_is_warned_of(db, mounts):
    mounts("22 1 0:50 / / rw - cifs //server/share rw\n")
    (finding,) = findings(connection)
    assert isinstance(finding, Warning)
    assert finding.id == "studio.W003"
    assert "network drive (cifs)" in finding.msg


@pytest.fixture
def other(tmp_path, django_db_blocker):
    """A database file with nobody's settings."""
    connections.settings["other"] = connections.configure_settings(
        {
            "default": {},
            "other": {"ENGINE": "django.db.backends.sqlite3", "NAME": str(tmp_path / "other")},
        }
    )["other"]
    with django_db_blocker.unblock():
        yield connections["other"]
        connections["other"].close()
    del connections["other"], connections.settings["other"]


def test_a_journal_that_is_not_the_write_ahead_log_is_warned_of(other, mounts):
    mounts("")
    (finding,) = findings(other)
    assert finding.id == "studio.W001"
    # https://sqlite.org/pragma.html#pragma_journal_mode: DELETE is the normal one.
    assert "“delete”" in finding.msg


def test_foreign_keys_that_are_off_are_an_error(other, mounts):
    mounts("")
    with other.cursor() as cursor:
        cursor.execute("PRAGMA journal_mode=WAL")
        cursor.execute("PRAGMA foreign_keys=OFF")
    (finding,) = findings(other)
    assert isinstance(finding, Error)
    assert finding.id == "studio.E002"


def test_the_server_writes_a_line_for_each_finding(other, mounts, caplog):
    mounts("22 1 0:50 / / rw - nfs server:/export rw\n")
    log_findings(other)
    assert [record.message[:11] for record in caplog.records] == ["studio.W001", "studio.W003"]
    assert other.connection is None


def test_a_database_that_cannot_be_opened_does_not_keep_the_server_from_starting(
    other, monkeypatch, caplog
):
    def broken(connection):
        raise OperationalError("disk I/O error")

    monkeypatch.setattr(checks, "findings", broken)
    log_findings(other)
    assert "disk I/O error" in caplog.text


def test_a_sound_database_gives_nothing_to_say(db):
    assert findings(connection) == []
    output = StringIO()
    call_command("check", databases=["default"], stdout=output, stderr=output)
    assert "no issues" in output.getvalue()


@only_sqlite
def test_the_check_of_the_database_finds_it(db, mounts):
    mounts("22 1 0:50 / / rw - nfs server:/export rw\n")
    output = StringIO()
    call_command("check", databases=["default"], stdout=output, stderr=output)
    assert "studio.W003" in output.getvalue()


def test_the_site_says_it_when_it_starts(tmp_path):
    code = (
        "from pathlib import Path; from studio.db import checks; "
        f"checks.MOUNTINFO = Path({str(tmp_path / 'mountinfo')!r}); import studio.wsgi"
    )
    (tmp_path / "mountinfo").write_text("22 1 0:50 / / rw - nfs server:/export rw\n")
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "studio.settings",
        "SECRET_KEY": "k",
        "DATABASE_URL": f"sqlite:///{tmp_path / 'studio.sqlite3'}",
    }
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert "WARNING ladder.database studio.W003" in done.stderr
    assert "studio.W001" not in done.stderr
