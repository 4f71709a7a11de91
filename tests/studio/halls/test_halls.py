"""A hall's address and emergency number: entered, confirmed, and said to be missing."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.halls.emergency import Emergency, card_mark, emergency_of, missing_sentences
from studio.models import Location
from studio.people.meetings import meeting_on
from tests.support.pages import text_of

MISSING = "the emergency number is missing"


def post(client, hall, number, address, **more):
    """As from a page that was shown just now, unless ``seen`` says when."""
    fields = {"hall": hall.pk, "emergency_number": number, "address": address}
    seen = card_mark(Location.objects.get(pk=hall.pk))
    return client.post("/halls/confirm", {"seen": seen, **fields, **more})


def test_no_number_is_assumed(db):
    hall = Location.objects.create(name="Loft")
    assert emergency_of(hall) == Emergency("", "", confirmed=False)


def test_a_number_that_nobody_confirmed_is_said_to_be_so():
    hall = Location(name="Loft", emergency_number="112", address="1 Quay")
    assert missing_sentences(hall) == ["Loft: the emergency number, 112, is not confirmed."]
    hall.confirmed_on = datetime.date(2026, 3, 4)
    assert missing_sentences(hall) == []


def test_a_director_enters_and_confirms_both(client, cast):
    client.force_login(cast.dora)
    response = post(client, cast.other_hall, " 112 ", "1 Quay")
    assert response["Location"] == "/halls"
    cast.other_hall.refresh_from_db()
    assert emergency_of(cast.other_hall) == Emergency("112", "1 Quay", confirmed=True)
    assert cast.other_hall.confirmed_by == cast.dora
    assert "by Dora" in client.get("/halls").text


def test_an_emptied_number_is_no_longer_confirmed(client, cast):
    client.force_login(cast.petra)
    post(client, cast.hall, "", "4 Weir Lane")
    cast.hall.refresh_from_db()
    assert emergency_of(cast.hall) == Emergency("", "4 Weir Lane", confirmed=False)
    assert (cast.hall.confirmed_on, cast.hall.confirmed_by) == (None, None)


def test_words_are_no_number_and_change_nothing(client, cast):
    client.force_login(cast.petra)
    response = post(client, cast.hall, "ask Omar", "somewhere")
    assert response.status_code == 422
    assert "A number has digits." in response.text
    cast.hall.refresh_from_db()
    assert (cast.hall.emergency_number, cast.hall.address) == ("112", "4 Weir Lane")


@pytest.mark.parametrize(("who", "status"), [("omar", 403), ("tam", 403), ("dora", 422)])
def test_nobody_else_changes_it(client, cast, who, status):
    client.force_login(getattr(cast, who))
    assert post(client, cast.hall, "999", "nowhere").status_code == status
    cast.hall.refresh_from_db()
    assert cast.hall.emergency_number == "112"


@pytest.mark.parametrize("address", ["/", "/review", "/gates", "/roster", "/tablets"])
def test_every_page_of_a_director_says_what_is_missing_and_where_to_enter_it(client, cast, address):
    Location.objects.filter(pk=cast.hall.pk).update(emergency_number="")
    client.force_login(cast.petra)
    page = client.get(address).text
    assert MISSING in page
    assert 'href="/halls">Enter and confirm' in page


def test_the_page_where_it_is_entered_does_not_lead_to_itself(client, cast):
    Location.objects.filter(pk=cast.hall.pk).update(emergency_number="")
    client.force_login(cast.petra)
    page = client.get("/halls").text
    assert MISSING in page
    assert "Enter and confirm" not in page


@pytest.mark.parametrize("who", ["petra", "omar"])
def test_nothing_is_said_while_all_is_there(client, cast, who):
    client.force_login(getattr(cast, who))
    assert MISSING not in client.get("/").text
    assert "is not confirmed" not in client.get("/").text


def test_tonight_says_it_to_those_who_teach_there(client, cast):
    Location.objects.filter(pk=cast.hall.pk).update(confirmed_on=None)
    client.force_login(cast.omar)
    page = client.get("/").text
    assert "Mill hall: the emergency number, 112, is not confirmed." in page
    assert "A director enters it" in page


def test_tonight_says_it_to_a_stand_in(client, cast):
    Location.objects.filter(pk=cast.hall.pk).update(confirmed_on=None)
    tomorrow = cast.hall.day_of(timezone.now()) + datetime.timedelta(days=1)
    meeting = meeting_on(cast.blue, tomorrow)
    meeting.staff.set([cast.dora])
    client.force_login(cast.dora)
    page = client.get("/").text
    assert "You stand in" in page
    assert "Mill hall: the emergency number, 112, is not confirmed." in page


def test_the_queries_do_not_grow_with_the_halls(client, cast, django_assert_num_queries):
    client.force_login(cast.petra)
    with CaptureQueriesContext(connection) as few:
        client.get("/halls")
    for number in range(18):
        cast.petra.locations.add(Location.objects.create(name=f"Hall {number}"))
    with django_assert_num_queries(len(few)):
        assert client.get("/halls").text.count('<form class="form"') == 20


CARD = {
    "door": "the gate in Weir Lane",
    "first_aid_kit": "beside the piano",
    "defibrillator": "in the foyer",
    "who_phones": "the assistant",
    "who_meets": "a parent, at the gate",
}


def test_the_whole_card_is_kept_and_goes_to_the_floor(client, cast):
    client.force_login(cast.petra)
    assert post(client, cast.hall, "112", "4 Weir Lane", **CARD).status_code == 302
    client.force_login(cast.omar)
    meeting = client.get(f"/floor/{cast.meeting.uuid}/pack").json()["meeting"]
    assert meeting["card"] == CARD
    assert (meeting["emergency"], meeting["address"]) == ("112", "4 Weir Lane")


def test_what_is_for_families_is_kept_and_is_not_on_the_floors_card(client, cast):
    client.force_login(cast.petra)
    post(client, cast.hall, "112", "4 Weir Lane", phone="555", questions="the desk, 16:00")
    cast.hall.refresh_from_db()
    assert (cast.hall.phone, cast.hall.questions) == ("555", "the desk, 16:00")
    assert emergency_of(cast.hall).card == {}


def test_a_line_that_nobody_entered_is_not_on_the_card(client, cast):
    client.force_login(cast.petra)
    post(client, cast.hall, "112", "4 Weir Lane", door="the gate")
    cast.hall.refresh_from_db()
    assert emergency_of(cast.hall).card == {"door": "the gate"}


def test_of_two_desks_the_second_is_told_and_changes_nothing(client, cast):
    seen = card_mark(cast.hall)
    client.force_login(cast.petra)
    assert post(client, cast.hall, "112", "4 Weir Lane", door="the gate").status_code == 302
    client.force_login(cast.luis)
    late = post(client, cast.hall, "911", "4 Weir Lane", seen=seen)
    assert late.status_code == 409
    assert "Mill hall: somebody else changed this card meanwhile." in late.text
    assert 'value="the gate"' in late.text
    cast.hall.refresh_from_db()
    assert (cast.hall.emergency_number, cast.hall.door) == ("112", "the gate")


def add(client, name, zone="Europe/Lisbon"):
    return client.post("/halls/add", {"name": name, "zone": zone})


def test_a_new_hall_is_of_every_director_of_ones_halls_and_of_nobody_else(client, cast):
    client.force_login(cast.petra)
    assert add(client, " Dock  hall ").status_code == 302
    hall = Location.objects.get(name="Dock hall")
    assert set(hall.staff.all()) == {cast.petra, cast.luis}
    assert "Dock hall: the emergency number is missing." in client.get("/").text
    client.force_login(cast.luis)
    assert "Dock hall" in client.get("/halls").text


@pytest.mark.parametrize(
    ("name", "zone", "said"),
    [
        ("MILL HALL", "Europe/Lisbon", "There is a hall of this name already."),
        ("Dock hall", "Atlantis", "There is no time zone called “Atlantis”."),
        ("", "Europe/Lisbon", "This field is required."),
    ],
)
def test_a_hall_that_cannot_be_is_refused_with_a_sentence(client, cast, name, zone, said):
    client.force_login(cast.petra)
    refused = add(client, name, zone)
    assert refused.status_code == 422
    assert said in refused.text
    assert Location.objects.count() == 2


@pytest.mark.parametrize("who", ["omar", "tam"])
def test_nobody_else_adds_a_hall(client, cast, who):
    client.force_login(getattr(cast, who))
    assert add(client, "Dock hall").status_code == 403
    assert Location.objects.count() == 2


def test_a_new_hall_is_offered_the_time_zone_of_the_first_one(client, cast):
    client.force_login(cast.petra)
    Location.objects.filter(pk=cast.hall.pk).update(zone="Asia/Tokyo")
    assert 'name="zone" value="Asia/Tokyo"' in client.get("/halls").content.decode()


def test_number_and_address_are_not_called_optional(client, cast):
    client.force_login(cast.petra)
    words = text_of(client.get("/halls"))
    assert "Emergency number The number that is called" in words
    assert "First-aid kit (optional)" in words
