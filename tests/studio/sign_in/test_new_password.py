"""A new password ends the PIN and every sign-in that was under way."""

import datetime

import time_machine
from django.test import Client

from studio.models import Pin, Staff
from studio.sign_in.pins import set_pin
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import NOW, TODAY

WORD, PIN = "a long enough word", "490273"


def change_password(staff):
    """As manage.py changepassword does it."""
    staff.set_password("another long enough word")
    staff.save()


def test_it_ends_the_pin_and_the_sessions(cast):
    set_pin(cast.omar, PIN, NOW)
    _tablet, secret = enrol("Blue case", cast.hall, cast.petra, NOW)
    desk, tablet = Client(), Client()
    tablet.cookies[COOKIE] = secret
    with time_machine.travel(NOW, tick=False):
        desk.post("/sign-in", {"username": "omar", "password": WORD})
        tablet.post("/change-over", {"who": cast.omar.uuid, "pin": PIN})
        assert [each.get("/").status_code for each in (desk, tablet)] == [200, 200]
        change_password(Staff.objects.get(pk=cast.omar.pk))
        assert [each.get("/").status_code for each in (desk, tablet)] == [302, 302]
    assert not Pin.objects.filter(staff=cast.omar).exists()


def test_a_password_that_is_only_hashed_anew_ends_nothing(cast, settings):
    set_pin(cast.omar, PIN, NOW)
    settings.PASSWORD_HASHERS = [
        "django.contrib.auth.hashers.ScryptPasswordHasher",
        *settings.PASSWORD_HASHERS,
    ]
    omar = Staff.objects.get(pk=cast.omar.pk)
    before = omar.password
    assert omar.check_password(WORD)
    assert omar.password != before
    assert Pin.objects.filter(staff=omar).exists()


def test_a_guests_right_password_on_another_day_is_answered_like_a_wrong_one(cast):
    Staff.objects.filter(pk=cast.luis.pk).update(guest_on=TODAY + datetime.timedelta(days=1))
    with time_machine.travel(NOW, tick=False):
        right, wrong = (
            Client().post("/sign-in", {"username": "luis", "password": password})
            for password in (WORD, "a wrong word altogether")
        )
    assert (right.status_code, wrong.status_code) == (422, 422)
    assert right.context["form"].errors == wrong.context["form"].errors
    assert len(right.content) == len(wrong.content)


def test_an_account_that_left_is_answered_like_a_wrong_password(cast):
    Staff.objects.filter(pk=cast.omar.pk).update(left_on=TODAY)
    with time_machine.travel(NOW, tick=False):
        right, wrong = (
            Client().post("/sign-in", {"username": "omar", "password": password})
            for password in (WORD, "a wrong word altogether")
        )
    assert right.context["form"].errors == wrong.context["form"].errors
