"""manage.py add_class: a weekly class with its staff."""

import datetime
import io

import pytest
from django.core.management import CommandError, call_command

from studio.models import ClassGroup, Location, Staff


@pytest.fixture
def hall(db):
    Staff.objects.create_user("omar", role="coach")
    return Location.objects.create(name="Mill", zone="Europe/Berlin")


def add(*words):
    output = io.StringIO()
    call_command("add_class", *words, stdout=output)
    return output.getvalue()


WHOLE = ("Blue", "--location", "Mill", "--weekday", "wednesday", "--starts", "17:30")


def test_a_class_is_added(hall):
    output = add(*WHOLE, "--minutes", "75", "--staff", "omar")
    assert output == "Added Blue: Wednesday, 17:30, omar.\n"
    blue = ClassGroup.objects.get()
    assert (blue.name, blue.location, blue.weekday, blue.minutes) == ("Blue", hall, 2, 75)
    assert blue.starts_at == datetime.time(17, 30)
    assert [person.username for person in blue.staff.all()] == ["omar"]


def test_the_same_again_changes_nothing(hall):
    add(*WHOLE, "--staff", "omar")
    before = list(ClassGroup.objects.values())
    assert add(*WHOLE, "--staff", "omar") == "Nothing to change.\n"
    assert list(ClassGroup.objects.values()) == before


def test_what_is_said_is_changed_and_the_rest_stays(hall):
    add(*WHOLE, "--staff", "omar")
    assert add("Blue", "--location", "Mill", "--starts", "18:00").startswith("Changed Blue")
    blue = ClassGroup.objects.get()
    assert (blue.weekday, blue.starts_at) == (2, datetime.time(18))
    assert blue.staff.count() == 1


def test_a_class_of_the_same_name_in_another_hall_is_another_class(hall):
    Location.objects.create(name="Quay", zone="Europe/Berlin")
    add(*WHOLE)
    add("Blue", "--location", "Quay", "--weekday", "monday", "--starts", "16:00")
    assert ClassGroup.objects.count() == 2


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("Blue", "--location", "Mill"), "--weekday"),
        (("Blue", "--location", "Barn", *WHOLE[3:]), "There are: Mill"),
        ((*WHOLE, "--staff", "nobody"), "There are: omar"),
        ((*WHOLE, "--minutes", "2"), "between 10 and 300"),
        ((*WHOLE[:-1], "half past five"), "time of day"),
        ((*WHOLE[:4], "someday", *WHOLE[5:]), "weekday"),
        (("x" * 81, *WHOLE[1:]), "name"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_added(hall, words, sentence):
    with pytest.raises(CommandError, match=sentence):
        add(*words)
    assert not ClassGroup.objects.exists()


def test_one_of_the_staff_more_takes_nobody_away_and_one_goes_by_the_name(hall):
    Staff.objects.create_user("tam", role="assistant")
    add(*WHOLE, "--staff", "omar")
    add(*WHOLE, "--staff", "tam")
    blue = ClassGroup.objects.get()
    assert {each.username for each in blue.staff.all()} == {"omar", "tam"}
    add(*WHOLE, "--not-staff", "omar")
    assert [each.username for each in blue.staff.all()] == ["tam"]
