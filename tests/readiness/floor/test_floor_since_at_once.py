"""The common answer to the question whether something is new: in one query after the session's, and
only to those whom the ordinary way lets in."""

import datetime
import itertools
import re
from unittest.mock import patch

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import get_resolver

from readiness.floor import views
from studio.models import Meeting, Staff
from studio.sign_in import ended
from studio.sign_in.pins import set_pin
from studio.tablets.enrolment import COOKIE, enrol, withdraw
from tests.support.cast import NOW, TODAY

PIN = "490273"


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def tablet(cast):
    for staff in (cast.omar, cast.tam, cast.petra, cast.ines):
        set_pin(staff, PIN, NOW)
    tablet, tablet.secret = enrol("Blue case", cast.hall, cast.luis, NOW)
    return tablet


def by_password(staff: Staff) -> Client:
    client = Client()
    client.force_login(staff)
    return client


def by_pin(tablet, staff: Staff) -> Client:
    client = Client()
    client.cookies[COOKIE] = tablet.secret
    assert client.post("/change-over", {"who": str(staff.uuid), "pin": PIN}).status_code == 302
    return client


def ask(client: Client, meeting: Meeting, n: int = 0) -> int:
    return client.get(f"/floor/{meeting.uuid}/since?n={n}").status_code


def tables_asked(client: Client, meeting: Meeting) -> list[str]:
    ask(client, meeting)
    with CaptureQueriesContext(connection) as asked:
        assert ask(client, meeting) == 204
    return [re.search(r'FROM "(\w+)"', each["sql"])[1] for each in asked]


# At most two queries (issue text): the session's, and this one.


def test_by_password_it_costs_one_query_after_the_session_s(cast):
    for staff in (cast.omar, cast.tam, cast.petra):
        assert tables_asked(by_password(staff), cast.meeting) == ["django_session", "studio_staff"]


def test_by_pin_too(cast, tablet):
    for staff in (cast.omar, cast.tam):
        found = tables_asked(by_pin(tablet, staff), cast.meeting)
        assert found == ["django_session", "studio_staff"]


def no_class(cast, client, tablet):
    cast.blue.staff.remove(cast.omar)
    cast.meeting.staff.remove(cast.omar)


def inactive(cast, client, tablet):
    Staff.objects.filter(pk=cast.omar.pk).update(is_active=False)


def left(cast, client, tablet):
    Staff.objects.filter(pk=cast.omar.pk).update(left_on=TODAY)


def guest_of_yesterday(cast, client, tablet):
    yesterday = TODAY - datetime.timedelta(days=1)
    Staff.objects.filter(pk=cast.omar.pk).update(guest_on=yesterday)


def another_password(cast, client, tablet):
    cast.omar.set_password("another long enough word")
    cast.omar.save(update_fields=["password"])


def session_deleted(cast, client, tablet):
    Session.objects.all().delete()


def signed_out(cast, client, tablet):
    key = client.cookies["sessionid"].value
    client.post("/sign-out")
    client.cookies["sessionid"] = key


def signed_out_without_a_network(cast, client, tablet):
    client.cookies[ended.COOKIE] = ended.tag_of(client.cookies["sessionid"].value)


def withdrawn(cast, client, tablet):
    withdraw(tablet, cast.luis, NOW)


def enroller_left(cast, client, tablet):
    Staff.objects.filter(pk=cast.luis.pk).update(left_on=TODAY)


def taken_to_another_device(cast, client, tablet):
    del client.cookies[COOKIE]


def on_another_tablet(cast, client, tablet):
    _other, client.cookies[COOKIE] = enrol("Red case", cast.hall, cast.luis, NOW)


ENDED = [
    (no_class, 404), (inactive, 401), (left, 401), (guest_of_yesterday, 401),
    (another_password, 401), (session_deleted, 401), (signed_out, 401),
    (signed_out_without_a_network, 401),
]  # fmt: skip
ENDED_BY_PIN = [
    *ENDED, (withdrawn, 401), (enroller_left, 401), (taken_to_another_device, 401),
    (on_another_tablet, 401),
]  # fmt: skip


@pytest.mark.parametrize(("happens", "status"), ENDED)
def test_who_lost_it_by_password_gets_no_answer(cast, happens, status):
    client = by_password(cast.omar)
    assert ask(client, cast.meeting) == 204
    happens(cast, client, None)
    assert ask(client, cast.meeting) == status


@pytest.mark.parametrize(("happens", "status"), ENDED_BY_PIN)
def test_who_lost_it_by_pin_gets_no_answer(cast, tablet, happens, status):
    client = by_pin(tablet, cast.omar)
    assert ask(client, cast.meeting) == 204
    happens(cast, client, tablet)
    assert ask(client, cast.meeting) == status


def test_a_sign_in_by_pin_gets_none_after_its_hours(cast, tablet, clock, settings):
    client = by_pin(tablet, cast.omar)
    clock.shift(settings.PIN_SESSION_AGE - 1)
    assert ask(client, cast.meeting) == 204
    clock.shift(1)
    assert ask(client, cast.meeting) == 401


def test_a_director_by_pin_sees_no_class_that_she_does_not_teach(cast, tablet):
    assert ask(by_password(cast.petra), cast.meeting) == 204
    assert ask(by_pin(tablet, cast.petra), cast.meeting) == 404


def test_a_stranger_gets_none(client, cast):
    assert ask(client, cast.meeting) == 401


def test_it_is_given_to_those_whom_the_ordinary_way_lets_in_and_to_nobody_else(cast, tablet):
    """Everybody at every meeting, old ones and other halls' too, by both ways in."""
    days = [TODAY, TODAY - datetime.timedelta(days=28), TODAY - datetime.timedelta(days=29)]
    meetings = [
        Meeting.objects.create(group=group, date=day, starts_at=datetime.time(hour), location=hall)
        for group, day, (hour, hall) in itertools.product(
            (cast.blue, cast.red, cast.far), days, ((20, None), (21, cast.other_hall))
        )
    ]
    for meeting in meetings[1::3]:
        meeting.staff.set([cast.omar, cast.dora])
    everybody = [by_password(staff) for staff in Staff.objects.order_by("pk")]
    everybody += [by_pin(tablet, each) for each in (cast.omar, cast.tam, cast.petra, cast.ines)]
    found = [[ask(client, meeting) for meeting in meetings] for client in everybody]
    with patch.object(views.floor_since, "quick_answer", None):
        ordinary = [[ask(client, meeting) for meeting in meetings] for client in everybody]
    assert found == ordinary
    assert {status for each in found for status in each} == {204, 404}


def test_it_is_no_answer_where_something_is_new(cast):
    assert ask(by_password(cast.omar), cast.meeting, n=1) == 200


def test_no_other_page_answers_before_the_sign_in_is_looked_at():
    quick = {
        pattern.name
        for pattern in every_pattern(get_resolver().url_patterns)
        if getattr(pattern.callback, "quick_answer", None)
    }
    assert quick == {"floor-since"}


def every_pattern(patterns):
    for pattern in patterns:
        if hasattr(pattern, "url_patterns"):
            yield from every_pattern(pattern.url_patterns)
        else:
            yield pattern
