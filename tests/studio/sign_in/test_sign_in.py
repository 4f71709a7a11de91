"""Signing in, signing out, and what happens when the sign-in has ended."""

import datetime

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.test import Client

from studio.models import Meeting, Staff
from tests.support.cast import Cast

PASSWORD = "a long enough word"
NOON = datetime.datetime(2026, 3, 4, 12, tzinfo=datetime.UTC)
UNKNOWN = "Not this name and password, or too many tries"


def sign_in(client, name, password=PASSWORD, **more):
    return client.post("/sign-in", {"username": name, "password": password, **more})


def test_the_sign_in_page_is_open_to_everybody(client, cast):
    answer = client.get("/sign-in")
    assert answer.status_code == 200
    assert 'name="password"' in answer.text


def test_name_and_password_lead_to_tonight(client, cast):
    answer = sign_in(client, "omar")
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert client.get("/").status_code == 200


def test_a_wrong_password_signs_nobody_in(client, cast):
    answer = sign_in(client, "omar", "another word")
    assert answer.status_code == 422
    assert "_auth_user_id" not in client.session


def sentences(answer):
    return [str(each) for each in answer.context["form"].non_field_errors()]


def test_a_known_and_an_unknown_name_are_refused_with_the_same_sentence(client, cast):
    known = sentences(sign_in(client, "omar", "another word"))
    unknown = sentences(sign_in(client, "nobody", "another word"))
    assert known == unknown
    assert known[0].startswith(UNKNOWN)


def test_an_account_that_has_ended_is_refused_with_the_same_sentence(client, cast):
    Staff.objects.filter(pk=cast.omar.pk).update(is_active=False)
    assert sentences(sign_in(client, "omar")) == sentences(sign_in(client, "nobody"))


def test_an_empty_form_says_what_is_missing(client, cast):
    answer = client.post("/sign-in", {})
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"username", "password"}


def test_signing_in_goes_on_to_the_address_that_was_asked_for(client, cast):
    answer = client.get("/")
    assert answer["Location"] == "/sign-in?next=/"
    meeting = f"/floor/{cast.meeting.uuid}"
    assert sign_in(client, "omar", next=meeting)["Location"] == meeting


@pytest.mark.parametrize(
    "address",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "///elsewhere.example",
        "http:elsewhere.example",
        "javascript:alert(1)",
        "\\\\elsewhere.example",
        "/\\elsewhere.example",
        "",
    ],
)
def test_signing_in_never_leads_to_another_host(client, cast, address):
    answer = sign_in(client, "omar", next=address)
    assert answer.status_code == 302
    assert answer["Location"] == "/"


def test_the_form_keeps_the_address_when_the_password_was_wrong(client, cast):
    page = client.get("/sign-in?next=/review")
    assert 'name="next" value="/review"' in page.text
    again = sign_in(client, "omar", "another word", next="/review")
    assert 'name="next" value="/review"' in again.text


def test_signing_in_makes_a_new_session(client, cast):
    client.get("/sign-in")
    sign_in(client, "tam")
    first = client.session.session_key
    sign_in(client, "omar")
    assert client.session.session_key != first


def test_the_sign_in_form_needs_its_token(cast):
    client = Client(enforce_csrf_checks=True)
    answer = sign_in(client, "omar")
    assert answer.status_code == 403
    assert "This page was open for too long." in answer.text


def test_signing_out_is_asked_for_with_post(client, cast):
    client.force_login(cast.omar)
    assert client.get("/sign-out").status_code == 405
    assert client.get("/").status_code == 200
    answer = client.post("/sign-out")
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in")
    assert client.get("/").status_code == 302


def test_signing_out_twice_is_no_error(client, cast):
    assert client.post("/sign-out").status_code == 302


# The sign-in has ended


def test_a_page_leads_to_the_sign_in_page_and_back(client, cast):
    client.force_login(cast.omar)
    Session.objects.all().delete()
    answer = client.get("/?a=1")
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in?next=/%3Fa%3D1")


NOT_KEPT = "Your sign-in had ended, and what you sent was not kept. Send it again."


def test_a_form_sent_too_late_leads_back_to_the_page_it_stood_on_and_says_so(client, cast):
    client.force_login(cast.omar)
    Session.objects.all().delete()
    answer = client.post(
        f"/classes/{cast.blue.uuid}/meet", headers={"Referer": "http://testserver/review?a=1"}
    )
    assert answer["Location"] == "/sign-in?next=/review%3Fa%3D1"
    assert not Meeting.objects.filter(date__gt=cast.meeting.date).exists()
    page = client.get(answer["Location"])
    assert NOT_KEPT in page.text
    assert NOT_KEPT not in client.get("/sign-in").text


@pytest.mark.parametrize("sent_from", ["", "https://elsewhere.example/review", "nonsense"])
def test_a_form_sent_too_late_from_nowhere_known_leads_to_tonight(client, cast, sent_from):
    address = f"/classes/{cast.blue.uuid}/meet"
    answer = client.post(address, headers={"Referer": sent_from})
    assert answer["Location"] == "/sign-in?next=/"


@pytest.mark.parametrize("method", ["get", "post"])
def test_an_htmx_request_moves_the_whole_page_to_the_sign_in_page(client, cast, method):
    client.force_login(cast.omar)
    Session.objects.all().delete()
    answer = getattr(client, method)(
        f"/classes/{cast.blue.uuid}/meet",
        headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/review?a=1"},
    )
    assert answer.status_code == 401
    assert answer["HX-Redirect"] == "/sign-in?next=/review%3Fa%3D1"
    assert answer.content == b""


def test_a_session_ends_by_itself(client, cast, settings):
    settings.SESSION_COOKIE_AGE = 3600
    start = datetime.datetime(2026, 3, 4, 17, tzinfo=datetime.UTC)
    with time_machine.travel(start, tick=False):
        client.force_login(cast.omar)
        assert client.get("/").status_code == 200
    with time_machine.travel(start + datetime.timedelta(seconds=3601), tick=False):
        assert client.get("/").status_code == 302


def test_an_account_that_has_ended_is_out_at_once_although_its_session_lives(client, cast):
    client.force_login(cast.omar)
    Staff.objects.filter(pk=cast.omar.pk).update(is_active=False)
    assert client.get("/")["Location"] == "/sign-in?next=/"
    assert Session.objects.exists()


def guest(cast: Cast, day: datetime.date) -> Staff:
    staff = Staff.objects.create_user("gast", password=PASSWORD, role="director", guest_on=day)
    staff.locations.set([cast.hall])
    return staff


def test_a_guest_reviewer_is_let_in_on_the_day(client, cast):
    guest(cast, NOON.date())
    with time_machine.travel(NOON, tick=False):
        assert sign_in(client, "gast")["Location"] == "/"
        assert client.get("/").status_code == 200


@pytest.mark.parametrize("days", [-1, 1])
def test_a_guest_reviewer_is_refused_on_any_other_day_as_with_a_wrong_password(client, cast, days):
    guest(cast, NOON.date())
    with time_machine.travel(NOON + datetime.timedelta(days=days), tick=False):
        answer = sign_in(client, "gast")
        assert answer.status_code == 422
        wrong = client.post("/sign-in", {"username": "gast", "password": "not this one"})
        assert sentences(answer) == sentences(wrong)
        assert "_auth_user_id" not in client.session


def test_a_guest_reviewer_is_signed_out_when_the_day_is_over(client, cast):
    guest(cast, NOON.date())
    with time_machine.travel(NOON, tick=False):
        sign_in(client, "gast")
    with time_machine.travel(NOON + datetime.timedelta(hours=12), tick=False):
        assert client.get("/")["Location"] == "/sign-in?next=/"
        assert "_auth_user_id" not in client.session


# The cookie that tells the page's scripts whose browser it is


def test_signing_in_says_whose_the_browser_is_and_signing_out_that_it_is_nobody_s(client, cast):
    cookie = sign_in(client, "omar").cookies["whose"]
    assert cookie.value == str(cast.omar.uuid)
    assert (cookie["httponly"], cookie["samesite"], cookie["secure"]) == ("", "Lax", "")
    gone = client.post("/sign-out").cookies["whose"]
    assert (gone.value, gone["max-age"]) == ("", 0)


def test_whose_the_browser_is_gives_no_right(client, cast):
    client.cookies["whose"] = str(cast.petra.uuid)
    assert client.get("/").status_code == 302
    client.force_login(cast.omar)
    assert client.get("/roster").status_code == 403


def test_a_refused_sign_in_says_nothing_of_whose_it_is(client, cast):
    assert "whose" not in sign_in(client, "omar", "another word").cookies


def test_it_goes_by_https_only_where_the_site_does(client, cast, settings):
    settings.SESSION_COOKIE_SECURE = True
    assert sign_in(client, "omar").cookies["whose"]["secure"] is True
