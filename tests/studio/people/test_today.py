"""What day it is for a child: that of the hall of the child's first class."""

import datetime

import pytest

from studio.models import Location
from studio.people.class_lists import classes_of
from studio.people.today import local_today
from tests.support.cast import Cast, make_child, make_class

pytestmark = pytest.mark.django_db

# In Berlin half past midnight of the fifth; in New York and in UTC still the fourth.
AT = datetime.datetime(2026, 3, 4, 23, 30, tzinfo=datetime.UTC)
FOURTH, FIFTH = datetime.date(2026, 3, 4), datetime.date(2026, 3, 5)


def test_the_hall_of_the_first_class_decides_and_without_a_class_utc(cast: Cast) -> None:
    west = Location.objects.create(name="West hall", zone="America/New_York")
    far_west = make_class("Grey", west)
    in_both, in_west = make_child("Noor Both", cast.blue), make_child("Noor West", far_west)
    in_both.classes.add(far_west)
    nowhere = make_child("Noor Nowhere", cast.blue)
    nowhere.classes.clear()
    children = [in_both, in_west, nowhere]
    expected = {in_both.pk: FIFTH, in_west.pk: FOURTH, nowhere.pk: FOURTH}
    assert local_today(children, AT) == expected
    assert local_today(children, AT, classes_of(children)) == expected
    assert local_today([in_both, nowhere], AT)[nowhere.pk] == FOURTH
    assert local_today([nowhere], AT + datetime.timedelta(hours=1)) == {nowhere.pk: FIFTH}
