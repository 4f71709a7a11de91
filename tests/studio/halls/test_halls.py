"""A hall's address and emergency number: entered, confirmed, and said to be missing."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.halls.emergency import Emergency, emergency_of, missing_sentences
from studio.models import Location
from studio.people.meetings import meeting_on

MISSING = "the emergency number is missing"


def post(client, hall, number, address):
    fields = {"hall": hall.pk, "emergency_number": number, "address": address}
    return client.post("/halls/confirm", fields)


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


@pytest.mark.parametrize("address", ["/", "/review", "/gates", "/roster", "/tablets", "/halls"])
def test_every_page_of_a_director_says_what_is_missing_and_where_to_enter_it(client, cast, address):
    Location.objects.filter(pk=cast.hall.pk).update(emergency_number="")
    client.force_login(cast.petra)
    page = client.get(address).text
    assert MISSING in page
    assert 'href="/halls">Enter and confirm' in page


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
        assert client.get("/halls").text.count("<form class=") == 19
