"""Whom a family asked for, a child's "not tonight", private lessons and tumbling elsewhere."""

import datetime
import json
import uuid

import pytest
import time_machine

from readiness.floor.pack import build_pack
from readiness.models import AskedFor, Elsewhere, NotTonight, Told
from readiness.record.told.on_the_page import note_not_tonight
from studio.models import Staff
from tests.support.cast import NOW, TODAY, make_staff

DAY = datetime.timedelta(days=1)
ROWS = (Told, AskedFor, NotTonight, Elsewhere)


@pytest.fixture
def page(client, cast):
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        yield client


def post(client, cast, address, **about):
    data = {"token": str(uuid.uuid4())} | about
    return client.post(f"/children/{cast.mai.uuid}/{address}", data).status_code


def words(client, cast):
    return client.get(f"/children/{cast.mai.uuid}").content.decode()


def test_hands_again_is_told_and_whom_they_asked_for_is_kept_with_it(page, cast):
    assert post(page, cast, "told", what="hands-again", whom="Her mother", asked_for="Petra") == 302
    told = Told.objects.get()
    assert (told.about, told.whom, told.by, told.day) == (
        "hands-again", "Her mother", cast.omar, TODAY,
    )  # fmt: skip
    assert (told.asked_for.whom, AskedFor.objects.count()) == ("Petra", 1)
    said = "Family told of hands again: Her mother; they asked for Petra"
    assert said in words(page, cast)


def test_who_asked_for_nobody_has_no_row(page, cast):
    assert post(page, cast, "told", what="fall", whom="Her mother") == 302
    assert "Family told of a fall: Her mother<" in words(page, cast)
    assert AskedFor.objects.count() == 0


def test_not_tonight_is_kept_once_an_evening_and_said_to_staff_only(page, cast):
    assert [post(page, cast, "not-tonight") for _each in "12"] == [302, 409]
    row = NotTonight.objects.get()
    assert (row.child, row.day, row.by) == (cast.mai, TODAY, cast.omar)
    assert "Said “not tonight”, in confidence" in words(page, cast)
    letter = page.get(f"/children/{cast.mai.uuid}/letter").content.decode()
    assert "not tonight" not in letter
    assert "confidence" not in letter
    guest = make_staff("Gail", "director", cast.hall)
    Staff.objects.filter(pk=guest.pk).update(guest_on=TODAY)
    page.force_login(guest)
    assert "Mai" in words(page, cast)
    assert "confidence" not in words(page, cast)


def test_not_tonight_is_in_the_pack_of_who_may_read_it_and_moves_the_counter(page, cast):
    def said(staff):
        children = json.loads(build_pack(cast.meeting, staff, NOW))["children"]
        return [child["name"] for child in children if "not_tonight" in child]

    assert said(cast.omar) == []
    note_not_tonight(cast.mai, cast.omar, NOW)
    assert said(cast.omar) == said(cast.petra) == ["Mai"]
    assert said(cast.tam) == []
    before = cast.meeting.alerts
    cast.meeting.refresh_from_db()
    assert cast.meeting.alerts == before + 1


def test_private_lessons_stand_beside_the_landings_until_they_end(page, cast):
    said = "Mai has private lessons, says Her mother on 4 Mar: landings there are in no count here."
    assert post(page, cast, "elsewhere", kind="private", said_by="Her mother") == 302
    assert post(page, cast, "elsewhere", kind="elsewhere") == 302
    assert said in words(page, cast)
    assert "Mai tumbles elsewhere too, since 4 Mar: landings there" in words(page, cast)
    # Said already; and that of which nothing was said cannot end.
    assert post(page, cast, "elsewhere", kind="private") == 409
    with time_machine.travel(NOW + DAY, tick=False):
        assert post(page, cast, "elsewhere", kind="private", ends="on") == 302
        assert post(page, cast, "elsewhere", kind="private", ends="on") == 409
        html = words(page, cast)
    assert said not in html
    assert "No longer: private lessons" in html
    assert "tumbles elsewhere too" in html


def test_it_changes_nothing_for_who_may_not_or_says_nothing(page, cast):
    assert post(page, cast, "elsewhere", kind="circus") == 422
    assert post(page, cast, "told", what="hands-again", whom="") == 422
    for who, status in ((cast.tam, 403), (cast.ines, 404)):
        page.force_login(who)
        assert post(page, cast, "not-tonight") == status
        assert post(page, cast, "elsewhere", kind="private") == status
    assert [row.objects.count() for row in ROWS] == [0, 0, 0, 0]
