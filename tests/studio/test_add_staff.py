"""manage.py add_staff: accounts for coaches, assistants, directors and a guest reviewer."""

import datetime
import io

import pytest
from django.core.management import CommandError, call_command

from studio.access import may_sign_in
from studio.models import Location, Staff

PASSWORD = "cart wheel lantern"


@pytest.fixture
def halls(db):
    return [Location.objects.create(name=name, zone="Europe/Berlin") for name in ("Mill", "Quay")]


def add(monkeypatch, username, *words, password=PASSWORD):
    monkeypatch.setenv("NEW_PASSWORD", password)
    output = io.StringIO()
    options = ["--password-from-env", "NEW_PASSWORD"] if password else []
    call_command("add_staff", username, *words, *options, stdout=output)
    return output.getvalue()


def test_a_coach_is_added(halls, monkeypatch):
    output = add(
        monkeypatch, "omar", "--role", "coach", "--name", "Omar de la Cruz", "--location", "Mill"
    )
    omar = Staff.objects.get()
    assert output == "Added Omar de la Cruz, coach.\n"
    assert (omar.first_name, omar.last_name, omar.role) == ("Omar", "de la Cruz", "coach")
    assert omar.check_password(PASSWORD)
    assert [hall.name for hall in omar.locations.all()] == ["Mill"]


def test_the_same_again_changes_nothing(halls, monkeypatch):
    words = ["--role", "coach", "--name", "Omar", "--location", "Mill"]
    add(monkeypatch, "omar", *words)
    before = list(Staff.objects.values())
    assert add(monkeypatch, "omar", *words, password="another long word") == "Nothing to change.\n"
    assert list(Staff.objects.values()) == before


def test_role_and_locations_are_brought_to_what_is_said(halls, monkeypatch):
    add(monkeypatch, "omar", "--role", "assistant", "--location", "Mill")
    both = ["--location", "Mill", "--location", "Quay"]
    assert add(monkeypatch, "omar", "--role", "coach", *both) == "Changed omar, coach.\n"
    omar = Staff.objects.get()
    assert omar.role == "coach"
    assert omar.locations.count() == 2
    assert omar.check_password(PASSWORD)


def test_a_guest_reviewer_may_sign_in_on_that_day_only(halls, monkeypatch):
    output = add(
        monkeypatch, "guest", "--role", "director", "--location", "Mill", "--guest-on", "2026-03-04"
    )
    assert "2026-03-04 only" in output
    guest = Staff.objects.get()
    assert may_sign_in(guest, datetime.date(2026, 3, 4))
    assert not may_sign_in(guest, datetime.date(2026, 3, 3))
    assert not may_sign_in(guest, datetime.date(2026, 3, 5))


def test_a_guest_does_not_become_one_of_the_staff_by_leaving_the_day_out(halls, monkeypatch):
    words = ["--role", "director", "--location", "Mill"]
    add(monkeypatch, "guest", *words, "--guest-on", "2026-03-04")
    add(monkeypatch, "guest", *words)
    assert Staff.objects.get().guest_on == datetime.date(2026, 3, 4)


@pytest.mark.parametrize(
    ("words", "password", "sentence"),
    [
        (["--role", "coach"], PASSWORD, "--location"),
        (["--role", "coach", "--location", "Barn"], PASSWORD, "There are: Mill, Quay"),
        (["--role", "coach", "--location", "Mill"], "short", "too short"),
        (["--role", "owner", "--location", "Mill"], PASSWORD, "role"),
    ],
)
def test_what_is_wrong_is_said_and_nobody_is_added(halls, monkeypatch, words, password, sentence):
    with pytest.raises(CommandError, match=sentence):
        add(monkeypatch, "omar", *words, password=password)
    assert not Staff.objects.exists()


def test_a_username_that_cannot_be_one_is_refused(halls, monkeypatch):
    with pytest.raises(CommandError, match="username"):
        add(monkeypatch, "om ar", "--role", "coach", "--location", "Mill")
    assert not Staff.objects.exists()


def test_one_location_more_takes_no_other_away_and_one_goes_by_its_name(halls, monkeypatch):
    add(monkeypatch, "omar", "--role", "coach", "--location", "Mill")
    add(monkeypatch, "omar", "--role", "coach", "--location", "Quay")
    omar = Staff.objects.get()
    assert {hall.name for hall in omar.locations.all()} == {"Mill", "Quay"}
    add(monkeypatch, "omar", "--role", "coach", "--not-at", "Mill")
    assert [hall.name for hall in omar.locations.all()] == ["Quay"]
