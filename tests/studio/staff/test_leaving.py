"""Somebody leaves: password, PIN, sessions and the tablets they enrolled end with that day."""

import datetime
import io

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.models import Pin, Staff
from studio.sign_in.pins import set_pin
from studio.staff.leaving import leave
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import NOW, TODAY
from tests.support.pages import signed_in

DAY = datetime.timedelta(days=1)
WORD, PIN = "a long enough word", "490273"


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


def sign_in(staff, password=WORD):
    return Client().post("/sign-in", {"username": staff.username, "password": password})


def end(client, who, day=TODAY):
    return client.post("/staff/end", {"who": who.pk, "left_on": day.isoformat()})


def test_a_director_ends_the_access_of_a_coach_at_once(cast):
    omar, petra = signed_in(cast.omar), signed_in(cast.petra)
    assert omar.get("/").status_code == 200
    assert end(petra, cast.omar)["Location"] == "/staff"
    assert omar.get("/")["Location"].startswith("/sign-in")
    assert omar.get(f"/floor/{cast.meeting.uuid}/pack").status_code == 401
    assert sign_in(cast.omar).status_code == 422
    assert "Omar cannot sign in from 4 March 2026 on." in petra.get("/staff").text


def test_until_the_day_nothing_ends(cast):
    leave(cast.omar, TODAY + DAY, cast.petra, NOW)
    assert sign_in(cast.omar).status_code == 302
    with time_machine.travel(NOW + DAY, tick=False):
        assert sign_in(cast.omar).status_code == 422


def test_the_pin_and_its_session_end(cast):
    set_pin(cast.omar, PIN, NOW)
    _tablet, secret = enrol("Blue case", cast.hall, cast.petra, NOW)
    tablet = Client()
    tablet.cookies[COOKIE] = secret
    who = {"who": cast.omar.uuid, "pin": PIN}
    assert tablet.post("/change-over", who).status_code == 302
    leave(cast.omar, TODAY, cast.petra, NOW)
    assert tablet.get("/").status_code == 302
    assert "Omar" not in tablet.get("/change-over").text
    assert tablet.post("/change-over", who).status_code == 422


def test_a_tablet_they_enrolled_is_trusted_no_more_and_its_sessions_end(cast):
    set_pin(cast.omar, PIN, NOW)
    _tablet, secret = enrol("Own phone", cast.hall, cast.luis, NOW)
    tablet = Client()
    tablet.cookies[COOKIE] = secret
    assert tablet.post("/change-over", {"who": cast.omar.uuid, "pin": PIN}).status_code == 302
    leave(cast.luis, TODAY, None, NOW)
    assert tablet.get("/").status_code == 302
    assert tablet.get("/change-over")["Location"].startswith("/sign-in")
    assert "no longer trusted: enrol it again" in signed_in(cast.petra).get("/tablets").text


def test_another_directors_access_is_not_ended_by_one_director(cast):
    client = signed_in(cast.petra)
    assert end(client, cast.luis).status_code == 422
    assert Staff.objects.get(pk=cast.luis.pk).left_on is None
    assert end(client, cast.petra).status_code == 302
    assert client.get("/").status_code == 302


def test_nobody_of_another_hall_is_ended(cast):
    assert end(signed_in(cast.dora), cast.omar).status_code == 422
    assert Staff.objects.get(pk=cast.omar.pk).left_on is None


def test_whoever_left_signs_for_nobody(cast):
    from studio.access import deciders

    assert cast.luis in deciders(cast.mai, TODAY)
    leave(cast.luis, TODAY, None, NOW)
    assert cast.luis not in deciders(cast.mai, TODAY)


def test_the_command_ends_access_and_lets_in_again_with_a_new_password(cast, monkeypatch):
    set_pin(cast.omar, PIN, NOW)
    call_command("staff_left", "omar", "--on", "2026-03-04", stdout=io.StringIO())
    assert sign_in(cast.omar).status_code == 422
    monkeypatch.setenv("NEW", "another long enough word")
    back = io.StringIO()
    call_command("staff_left", "omar", "--back", "--password-from-env", "NEW", stdout=back)
    assert back.getvalue() == "Omar can sign in again.\n"
    assert sign_in(cast.omar).status_code == 422
    assert sign_in(cast.omar, "another long enough word").status_code == 302
    assert not Pin.objects.filter(staff=cast.omar).exists()


def test_the_staff_page_asks_no_more_for_more_staff(cast, django_assert_num_queries):
    from tests.support.cast import make_staff

    client = signed_in(cast.petra)
    client.get("/staff")
    with CaptureQueriesContext(connection) as few:
        client.get("/staff")
    for number in range(5):
        make_staff(f"Coach {number}", "coach", cast.hall)
    with django_assert_num_queries(len(few)):
        client.get("/staff")
