"""Who is signed in where; signed out everywhere; the idle limit at the desk."""

import datetime

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.models import Staff
from studio.sign_in.pins import set_pin
from studio.staff.changing import account_mark, change
from studio.staff.leaving import leave
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import NOW, TODAY, make_staff
from tests.support.pages import text_of

MINUTE = datetime.timedelta(minutes=1)
PHONE = {"User-Agent": "Mozilla/5.0 (Android 15; Mobile; rv:140.0)"}


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


def by_password(name, **headers):
    client = Client()
    about = {"username": name, "password": "a long enough word"}
    assert client.post("/sign-in", about, headers=headers).status_code == 302
    return client


def is_in(client):
    return client.get("/").status_code == 200


def test_everybody_sees_their_own_and_a_director_those_of_her_halls(cast):
    set_pin(cast.tam, "490273", NOW)
    _tablet, secret = enrol("Blue case", cast.hall, cast.petra, NOW)
    shared = Client()
    shared.cookies[COOKIE] = secret
    shared.post("/change-over", {"who": str(cast.tam.uuid), "pin": "490273"})
    petra, omar = by_password("petra"), by_password("omar", **PHONE)
    by_password("dora")
    said = text_of(petra.get("/sign-ins"))
    assert "Omar on a phone or tablet 4 Mar 2026, 17:00" in said
    assert "Petra on a computer here" in said
    assert "Tam on the tablet “Blue case”, Mill hall, by PIN 4 Mar 2026, 17:00" in said
    assert "Dora" not in said
    said = text_of(omar.get("/sign-ins"))
    assert "Omar on a phone or tablet here" in said
    assert "Petra" not in said


def test_one_signs_oneself_out_everywhere_else(cast):
    here, there = by_password("omar"), by_password("omar", **PHONE)
    petra = by_password("petra")
    assert here.post("/sign-ins/end", {"who": str(cast.omar.uuid)}).status_code == 302
    assert "Omar: 1 sign-in ended." in text_of(here.get("/sign-ins"))
    assert (is_in(here), is_in(there), is_in(petra)) == (True, False, True)


def test_a_director_signs_a_coach_out_and_no_other_director(cast):
    petra, omar, luis = by_password("petra"), by_password("omar"), by_password("luis")
    assert petra.post("/sign-ins/end", {"who": str(cast.luis.uuid)}).status_code == 422
    assert omar.post("/sign-ins/end", {"who": str(cast.petra.uuid)}).status_code == 422
    assert petra.post("/sign-ins/end", {"who": str(cast.omar.uuid)}).status_code == 302
    assert (is_in(petra), is_in(omar), is_in(luis)) == (True, False, True)


def test_another_role_and_leaving_and_another_password_end_every_sign_in(cast):
    omar, tam, ines = by_password("omar"), by_password("tam"), by_password("ines")
    said = {"first_name": "Omar", "last_name": "", "role": "assistant"}
    said |= {"halls": [cast.hall], "classes": [cast.blue]}
    change(cast.omar, said, account_mark(cast.omar), cast.petra, NOW)
    leave(cast.tam, TODAY, cast.petra, NOW)
    assert Session.objects.count() == 1
    found = Staff.objects.get(pk=cast.ines.pk)
    found.set_password("another long enough word")
    found.save(update_fields=["password"])
    assert (is_in(omar), is_in(tam), is_in(ines)) == (False, False, False)


def test_a_name_that_changes_ends_no_sign_in(cast):
    omar = by_password("omar")
    said = {"first_name": "Omar", "last_name": "Reis", "halls": [cast.hall]}
    change(cast.omar, said | {"classes": [cast.blue]}, account_mark(cast.omar), cast.petra, NOW)
    assert is_in(omar)


def test_a_desk_that_is_left_alone_ends_its_sign_in(cast, clock, settings):
    settings.DESK_IDLE_MINUTES = 30
    petra = by_password("petra")
    for minutes in (30, 60):
        clock.move_to(NOW + minutes * MINUTE)
        assert is_in(petra)
    # What the floor asks by itself is nobody's hand, and is answered.
    clock.move_to(NOW + 80 * MINUTE)
    assert petra.get(f"/floor/{cast.meeting.uuid}/pack").status_code == 200
    clock.move_to(NOW + 91 * MINUTE)
    assert petra.get(f"/floor/{cast.meeting.uuid}/pack").status_code == 200
    assert not is_in(petra)


def test_without_a_limit_it_ends_when_it_is_as_old_as_one_may_be(cast, clock, settings):
    settings.DESK_IDLE_MINUTES = 0
    petra = by_password("petra")
    for hours in (5, 10, 14):
        clock.move_to(NOW + hours * 60 * MINUTE)
        assert is_in(petra)
    clock.move_to(NOW + 14 * 60 * MINUTE + MINUTE)
    assert not is_in(petra)


def test_the_page_asks_as_often_for_many_as_for_two(cast):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            assert petra.get("/sign-ins").status_code == 200
        return len(asked)

    petra = by_password("petra")
    few = queries()
    for n in range(12):
        client = Client()
        client.force_login(make_staff(f"Cleo{n}", "coach", cast.hall))
    assert queries() == few
