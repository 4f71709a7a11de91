"""manage.py begin: the first run of a real studio, on an empty database."""

import io
import os
import stat
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command

from progression.models import LadderVersion
from readiness.management.commands.begin import ensure_key
from studio.models import Location, Staff, Studio
from tests.support.cast import LADDER_FILE

ROOT = LADDER_FILE.parent.parent
PASSWORD = "cart wheel lantern"
OPTIONS = {
    "studio": "Lantern Yard",
    "location": "Mill hall",
    "zone": "Europe/Berlin",
    "address": "4 Weir Lane",
    "emergency": "112",
    "username": "petra",
    "name": "Petra van Dorn",
    "password_from_env": "FIRST_PASSWORD",
}


def begin(monkeypatch, password=PASSWORD, **options):
    monkeypatch.setenv("FIRST_PASSWORD", password)
    said = io.StringIO()
    call_command("begin", stdout=said, **{**OPTIONS, **options})
    return said.getvalue()


@pytest.fixture(autouse=True)
def _has_a_key(monkeypatch):
    """No test makes a key for the checkout it runs in."""
    monkeypatch.setenv("SECRET_KEY", "a key for these tests")


def everything():
    return (
        list(Studio.objects.values()),
        list(Location.objects.values()),
        list(Staff.objects.values()),
        list(LadderVersion.objects.values("number", "digest")),
    )


def test_after_the_first_run_a_page_finds_its_style_sheets(db, monkeypatch, settings, tmp_path):
    settings.STATIC_ROOT = tmp_path / "static"
    begin(monkeypatch)
    assert (tmp_path / "static" / "staticfiles.json").exists()


def test_the_first_run_makes_all_that_a_studio_needs(db, monkeypatch):
    begin(monkeypatch)
    assert Studio.objects.get().name == "Lantern Yard"
    hall = Location.objects.get()
    assert (hall.name, hall.zone) == ("Mill hall", "Europe/Berlin")
    assert (hall.address, hall.emergency_number) == ("4 Weir Lane", "112")
    assert hall.confirmed_on is not None
    petra = Staff.objects.get()
    assert (petra.username, petra.called, petra.role) == ("petra", "Petra van Dorn", "director")
    assert petra.check_password(PASSWORD)
    assert list(petra.locations.all()) == [hall]
    assert LadderVersion.objects.get().number == 1


def test_a_second_run_changes_nothing_and_says_so(db, monkeypatch):
    begin(monkeypatch)
    before = everything()
    said = begin(monkeypatch, studio="Another", location="Another", username="another")
    assert "nothing was changed" in said
    assert everything() == before


def test_a_guest_is_not_the_studios_director(db, monkeypatch):
    Staff.objects.create_user("guest", role="director", guest_on="2026-03-04")
    begin(monkeypatch)
    assert Staff.objects.get(username="petra").role == "director"


@pytest.mark.parametrize(
    ("options", "password", "sentence"),
    [
        ({"zone": "Mars/Base"}, PASSWORD, "Mars/Base"),
        ({"username": "pe tra!"}, PASSWORD, "username"),
        ({"studio": "x" * 121}, PASSWORD, "name"),
        ({}, "short", "too short"),
        ({}, "", "too short"),
        ({"username": "petra-van-dorn"}, "petra-van-dorn", "similar"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_stored(db, monkeypatch, options, password, sentence):
    before = everything()
    with pytest.raises(CommandError, match=sentence):
        begin(monkeypatch, password, **options)
    assert everything() == before


@pytest.mark.parametrize("option", ["studio", "location", "zone", "username", "name"])
def test_with_nobody_to_ask_the_missing_option_is_named(db, monkeypatch, option):
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    with pytest.raises(CommandError, match=f"--{option}"):
        begin(monkeypatch, **{option: None})
    assert not Studio.objects.exists()
    assert not Staff.objects.exists()


def test_what_is_not_given_is_asked(db, monkeypatch):
    answers = iter(["Lantern Yard", "", "Mill hall", "Europe/Berlin", "", "112", "petra", "Petra"])
    words = iter(["short", PASSWORD, "another", PASSWORD, PASSWORD])
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda question: next(answers))
    monkeypatch.setattr("getpass.getpass", lambda question: next(words))
    call_command("begin", stdout=io.StringIO())
    hall = Location.objects.get()
    assert (hall.name, hall.address, hall.emergency_number) == ("Mill hall", "", "112")
    assert Staff.objects.get().check_password(PASSWORD)


def test_with_nobody_to_ask_no_number_is_assumed_and_it_says_what_is_missing(db, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    said = begin(monkeypatch, address=None, emergency=None)
    hall = Location.objects.get()
    assert (hall.address, hall.emergency_number, hall.confirmed_on) == ("", "", None)
    assert "Mill hall: the emergency number is missing." in said
    assert "Mill hall: the address is missing." in said


def test_the_key_is_made_once_and_only_its_owner_reads_it(tmp_path, monkeypatch):
    monkeypatch.delenv("SECRET_KEY")
    file = tmp_path / "var" / "secret-key"
    assert ensure_key(file)
    key = file.read_text()
    assert len(key) >= 50
    if os.name == "posix":
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert ensure_key(file) == ""
    assert file.read_text() == key


def test_no_key_is_made_where_the_environment_has_one(tmp_path):
    assert ensure_key(tmp_path / "secret-key") == ""
    assert not (tmp_path / "secret-key").exists()


def test_an_empty_file_becomes_a_studio_that_can_be_asked(tmp_path):
    """The whole command, as it is typed, on a database that does not exist yet."""
    file = tmp_path / "studio.sqlite3"
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{file}",
        "DJANGO_SETTINGS_MODULE": "studio.settings",
        "SECRET_KEY": "a key that is long enough for the checks of this one test",
        "FIRST_PASSWORD": PASSWORD,
    }
    told = [f"--{name.replace('_', '-')}={value}" for name, value in OPTIONS.items()]

    def manage(*words):
        return subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            stdin=subprocess.DEVNULL,
            check=False,
        )

    first = manage("begin", *told)
    assert first.returncode == 0, first.stderr
    assert "Lantern Yard" in first.stdout
    again = manage("begin")
    assert again.returncode == 0, again.stderr
    assert "nothing was changed" in again.stdout
    assert manage("check").returncode == 0
