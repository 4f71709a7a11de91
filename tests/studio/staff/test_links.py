"""A link that a director hands over: chosen once, within 72 hours, kept nowhere."""

import datetime
import logging
import re

import pytest
import time_machine
from django.core import serializers
from django.db import connection
from django.test import Client

from studio.backup.restoring import end_what_was_open
from studio.models import AccountChange, OneTimeLink, Pin, Staff
from studio.sign_in.pins import set_pin
from studio.staff.leaving import leave
from studio.staff.links import LinkRefused, make_link, use_link
from tests.support.cast import NOW, TODAY
from tests.support.pages import signed_in

HOUR = datetime.timedelta(hours=1)
WORD = "seven lanterns over a weir"


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


def link_for(director, staff):
    """The address as it stands on the page."""
    page = signed_in(director).post(f"/staff/{staff.uuid}/link")
    assert page.status_code == 200
    assert page["Cache-Control"] == "no-store"
    return re.search(r'value="(http://[^"]+#[^"]+)"', page.text)[1]


def choose(code, password=WORD, again=None):
    fields = {"code": code, "password": password, "again": again or password}
    return Client().post("/new-password", fields)


def sign_in(name, password=WORD):
    return Client().post("/sign-in", {"username": name, "password": password}).status_code


def test_a_forgotten_password_is_chosen_anew_and_the_old_one_ends_with_pin_and_sign_ins(cast):
    set_pin(cast.omar, "490273", NOW)
    omar = signed_in(cast.omar)
    link = link_for(cast.petra, cast.omar)
    assert omar.get("/").status_code == 200
    assert choose(link.split("#")[1])["Location"] == "/sign-in"
    assert sign_in("omar") == 302
    assert sign_in("omar", "a long enough word") == 422
    assert omar.get("/").status_code == 302
    assert not Pin.objects.filter(staff=cast.omar).exists()


def test_the_code_stands_where_no_request_and_no_referer_carries_it(cast):
    address, code = link_for(cast.petra, cast.omar).split("#")
    assert address == "http://testserver/new-password"
    assert len(code) >= 43  # 256 bits
    page = Client().get("/new-password")
    assert page["Referrer-Policy"] == "same-origin"
    assert "js/code_from_link" in page.text


def test_only_a_digest_is_kept_and_no_log_line_has_the_code(cast, caplog):
    with caplog.at_level(logging.DEBUG):
        code = link_for(cast.petra, cast.omar).split("#")[1]
        assert code not in serializers.serialize("json", OneTimeLink.objects.all())
        choose(code)
    assert code not in caplog.text
    assert WORD not in caplog.text
    with connection.cursor() as cursor:
        cursor.execute("SELECT session_data FROM django_session")
        assert not any(code in row[0] for row in cursor.fetchall())


def test_it_works_once(cast):
    code = make_link(cast.omar, cast.petra, NOW)
    use_link(code, WORD, NOW)
    refused = choose(code, "another five lanterns")
    assert refused.status_code == 422
    assert "This link is good no more" in refused.text
    assert sign_in("omar") == 302


def test_it_ends_after_72_hours_and_not_before(cast):
    code = make_link(cast.omar, cast.petra, NOW)
    with pytest.raises(LinkRefused):
        use_link(code, WORD, NOW + 72 * HOUR)
    assert use_link(code, WORD, NOW + 71 * HOUR) == cast.omar


def test_a_newer_link_ends_the_earlier_one_and_leaving_and_a_restore_end_them_all(cast):
    first = make_link(cast.omar, cast.petra, NOW)
    second = make_link(cast.omar, cast.luis, NOW)
    with pytest.raises(LinkRefused):
        use_link(first, WORD, NOW)
    leave(cast.omar, TODAY + datetime.timedelta(days=9), cast.petra, NOW)
    with pytest.raises(LinkRefused):
        use_link(second, WORD, NOW)
    third = make_link(cast.tam, cast.petra, NOW)
    end_what_was_open(NOW - HOUR, NOW)
    with pytest.raises(LinkRefused):
        use_link(third, WORD, NOW)


@pytest.mark.parametrize(
    ("password", "again", "said"),
    [
        ("short", None, "This password is too short"),
        (WORD, "something else here", "The two were not the same."),
        ("", None, "This field is required."),
    ],
)
def test_what_is_wrong_is_said_and_the_link_is_good_still(cast, password, again, said):
    code = make_link(cast.omar, cast.petra, NOW)
    refused = choose(code, password, again)
    assert refused.status_code == 422
    assert said in refused.text
    assert choose(code).status_code == 302


def test_a_code_of_nobody_is_refused(cast):
    for code in ("x", "\ud800", "a" * 101):
        assert choose(code.encode("utf-8", "replace").decode()).status_code == 422
    assert not AccountChange.objects.exists()


def test_nobody_makes_a_link_for_another_director_or_for_another_hall(cast):
    for by, of in ((cast.petra, cast.luis), (cast.dora, cast.omar)):
        assert signed_in(by).post(f"/staff/{of.uuid}/link").status_code == 404
    for by in (cast.omar, cast.tam):
        assert signed_in(by).post(f"/staff/{cast.tam.uuid}/link").status_code == 403
    assert not OneTimeLink.objects.exists()


def test_the_other_directors_are_told(cast):
    use_link(make_link(cast.omar, cast.petra, NOW), WORD, NOW)
    said = "4 Mar 2026: Omar’s password was chosen with a link made by Petra."
    assert said in signed_in(cast.luis).get("/staff").text
    assert Staff.objects.get(pk=cast.omar.pk).check_password(WORD)


def test_an_invited_director_has_no_power_yet_so_the_link_can_be_made_anew(cast):
    nils = Staff.objects.create_user("nils", role="director")
    nils.locations.set([cast.hall])
    assert signed_in(cast.luis).post(f"/staff/{nils.uuid}/link").status_code == 200
    use_link(make_link(nils, cast.luis, NOW), WORD, NOW)
    assert signed_in(cast.luis).post(f"/staff/{nils.uuid}/link").status_code == 404
