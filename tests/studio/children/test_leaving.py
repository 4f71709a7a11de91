"""Joining and leaving a class, leaving the studio, coming back: what that hides and what stays."""

import uuid

import pytest
import time_machine
from django.db.models import Q

from progression.models import Attempt
from readiness.floor.pack_children import children_of
from studio.models import Child, ClassListChange, Contact
from studio.people import children as kept
from studio.people.class_lists import belonged
from tests.support.cast import NOW, TODAY, make_child

pytestmark = [pytest.mark.django_db]
LEFT = "2026-03-04"


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def petra(client, cast):
    client.force_login(cast.petra)
    return client


def test_a_child_moves_from_one_class_to_another_from_a_day_on(petra, cast):
    mai = f"/children/{cast.mai.uuid}"
    only = petra.post(f"{mai}/leave-class", {"out-group": cast.blue.uuid, "out-day": LEFT})
    assert only.status_code == 422
    assert "This is the only class." in only.content.decode()
    petra.post(f"{mai}/join", {"join-group": cast.red.uuid, "join-day": "2026-03-01"})
    late = petra.post(f"{mai}/leave-class", {"out-group": cast.blue.uuid, "out-day": "2026-04-01"})
    assert late.status_code == 422
    petra.post(f"{mai}/leave-class", {"out-group": cast.blue.uuid, "out-day": LEFT})
    assert list(cast.mai.classes.all()) == [cast.red]
    was = Child.objects.filter(belonged(cast.blue.pk, TODAY.replace(day=3)))
    assert cast.mai in was


def test_leaving_hides_what_the_page_says_and_keeps_what_it_says(petra, cast, log):
    log(cast.mai, "back-walkover", "11", support=1)
    Contact.objects.create(child=cast.mai, name="Bo", phone="030 1")
    address = f"/children/{cast.mai.uuid}"
    before = petra.get(f"{address}/facts").content.decode()
    assert "Nothing is deleted." in before

    assert petra.post(f"{address}/leave", {"gone-day": LEFT}).status_code == 302

    def shows(page):
        return cast.mai.name in petra.get(page).content.decode()

    # Gone from these; but from the list of who left.
    for page in ("/children", "/review", f"/classes/{cast.blue.uuid}", "/consents"):
        assert not shows(page)
    assert cast.mai not in children_of(cast.meeting)
    assert shows("/children?which=left")
    # What stays.
    assert Attempt.objects.filter(child=cast.mai).count() == 2
    assert cast.mai.spotting_consents.exists()
    assert cast.mai.contacts.get().phone == "030 1"
    cast.meeting.date = TODAY.replace(day=3)
    assert cast.mai in children_of(cast.meeting)
    for page in (address, f"{address}/letter"):
        assert petra.get(page).status_code == 200


def test_who_comes_back_was_away_in_between(petra, cast):
    kept.leave_studio(cast.mai, TODAY.replace(month=1, day=10))
    back = {"back-groups": [cast.red.uuid], "back-day": LEFT}
    assert petra.post(f"/children/{cast.mai.uuid}/back", back).status_code == 302
    child = Child.objects.get(pk=cast.mai.pk)
    assert child.left_on is None
    assert list(child.classes.all()) == [cast.red]

    def in_class(group, month, day):
        here = belonged(group.pk, TODAY.replace(month=month, day=day))
        return Child.objects.filter(here & Q(pk=child.pk)).exists()

    assert in_class(cast.blue, 1, 9)
    assert not in_class(cast.blue, 2, 1)
    assert not in_class(cast.red, 2, 1)
    assert in_class(cast.red, 3, 4)


def test_coming_back_to_the_same_class_is_an_absence_too(cast):
    kept.leave_studio(cast.mai, TODAY.replace(month=1, day=10))
    kept.come_back(cast.mai, [cast.blue], TODAY)
    assert cast.mai not in Child.objects.filter(
        belonged(cast.blue.pk, TODAY.replace(month=2, day=1))
    )
    kept.come_back(cast.mai, [cast.blue], TODAY)
    assert ClassListChange.objects.filter(child=cast.mai).count() == 2


# --- who came and is in no list ----------------------------------------------------------------


def test_a_coach_puts_a_newcomer_into_the_class_once_and_a_director_says_who_it_is(client, cast):
    client.force_login(cast.omar)
    said = {"token": str(uuid.uuid4()), "name": ""}
    for _twice in range(2):
        assert client.post(f"/classes/{cast.blue.uuid}/newcomer", said).status_code == 302
    child = Child.objects.get(birth_year=None)
    assert child.name == "New child 1"
    assert not child.is_known
    assert child in children_of(cast.meeting)

    client.force_login(cast.petra)
    page = client.get("/children?which=unnamed").content.decode()
    assert "1 child waits to be said who it is." in page
    assert "New child 1" in page
    facts = {
        "name": "Ana Reis", "born": "2016", "letter_language": "en",
        "contact-TOTAL_FORMS": "0", "contact-INITIAL_FORMS": "0",
    }  # fmt: skip
    assert client.post(f"/children/{child.uuid}/facts", facts).status_code == 302
    child.refresh_from_db()
    assert (child.name, child.is_known) == ("Ana Reis", True)


def test_a_newcomer_of_another_class_is_not_added(client, cast):
    client.force_login(cast.ines)
    said = {"token": str(uuid.uuid4())}
    assert client.post(f"/classes/{cast.blue.uuid}/newcomer", said).status_code == 404
    client.force_login(cast.tam)
    assert client.post(f"/classes/{cast.blue.uuid}/newcomer", said).status_code == 403
    assert not Child.objects.filter(birth_year=None).exists()


def test_two_newcomers_have_names_of_their_own(cast):
    names = [kept.add_unnamed(cast.blue, TODAY).name for _each in range(2)]
    assert names == ["New child 1", "New child 2"]
    make_child("Somebody", cast.blue)
    assert kept.add_unnamed(cast.blue, TODAY).name == "New child 3"


def test_past_midnight_in_the_hall_its_own_day_counts(petra, cast):
    """The hall is an hour ahead of the site."""
    petra.post(
        f"/children/{cast.mai.uuid}/join", {"join-group": cast.red.uuid, "join-day": "2026-03-01"}
    )
    with time_machine.travel("2026-03-04 23:30:00+00:00", tick=False):
        answer = petra.post(
            f"/children/{cast.mai.uuid}/leave-class",
            {"out-group": cast.blue.uuid, "out-day": "2026-03-05"},
        )
    assert answer.status_code == 302
    assert set(cast.mai.classes.values_list("name", flat=True)) == {"Red"}
