"""manage.py add_location: a further hall with its time zone."""

import io

import pytest
from django.core.management import CommandError, call_command

from studio.models import Location

pytestmark = pytest.mark.django_db


def add(*words):
    output = io.StringIO()
    call_command("add_location", *words, stdout=output)
    return output.getvalue()


def test_a_location_is_added():
    output = add("Quay", "--zone", "America/Chicago", "--address", "1 Quay", "--emergency", "911")
    quay = Location.objects.get()
    assert output == "Added Quay.\n"
    assert (quay.zone, quay.address, quay.emergency_number) == ("America/Chicago", "1 Quay", "911")


def test_the_same_again_changes_nothing():
    add("Quay", "--zone", "America/Chicago")
    assert add("Quay", "--zone", "America/Chicago") == "Nothing to change.\n"
    assert Location.objects.count() == 1


def test_what_is_said_is_changed_and_the_rest_stays():
    add("Quay", "--zone", "America/Chicago", "--address", "1 Quay")
    assert add("Quay", "--address", "2 Quay") == "Changed Quay.\n"
    quay = Location.objects.get()
    assert (quay.zone, quay.address) == ("America/Chicago", "2 Quay")


def test_no_number_is_assumed_and_one_that_is_given_is_confirmed():
    add("Quay", "--zone", "America/Chicago")
    quay = Location.objects.get()
    assert (quay.emergency_number, quay.confirmed_on) == ("", None)
    assert add("Quay", "--emergency", "911") == "Changed Quay.\n"
    quay.refresh_from_db()
    assert quay.confirmed_on is not None
    assert add("Quay", "--emergency", "911") == "Nothing to change.\n"


def test_a_number_that_nobody_confirmed_is_confirmed_by_giving_it_again():
    add("Quay", "--zone", "America/Chicago")
    Location.objects.update(emergency_number="911")
    assert add("Quay", "--address", "1 Quay") == "Changed Quay.\n"
    assert Location.objects.get().confirmed_on is None
    assert add("Quay", "--emergency", "911") == "Changed Quay.\n"
    assert Location.objects.get().confirmed_on is not None


def test_a_new_location_needs_its_time_zone():
    with pytest.raises(CommandError, match="--zone"):
        add("Quay")
    assert not Location.objects.exists()


def test_a_time_zone_that_is_none_is_refused():
    with pytest.raises(CommandError, match="Mars/Base"):
        add("Quay", "--zone", "Mars/Base")
    assert not Location.objects.exists()
