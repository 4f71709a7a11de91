"""Pictures from the side: off until a director turns them on, and only with a family's yes."""

import datetime
import json
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.floor.pack import build_pack
from studio.models import HallPictures, PictureConsent
from studio.people.merging import merge
from studio.pictures.allowed import halls_with_pictures, may_be_pictured
from tests.support.cast import NOW, TODAY, make_child

pytestmark = pytest.mark.django_db

TABLET = {"tablet": {"name": "tablet 3", "people": [], "idle_minutes": 5}}


@pytest.fixture(autouse=True)
def _tonight():
    with time_machine.travel(NOW, tick=False):
        yield


def says(answer: str, guardian: str = "", **changed):
    seen = {"seen_by": "Omar", "seen_on": TODAY.isoformat(), "token": str(uuid.uuid4())}
    return {"answer": answer, "guardian": guardian} | seen | changed


def answers(client, child, answer, guardian=""):
    return client.post(f"/children/{child.uuid}/pictures", says(answer, guardian))


def turn_on(client, cast, on="yes", hall=None):
    client.force_login(cast.petra)
    return client.post("/halls/pictures", {"hall": (hall or cast.hall).pk, "on": on})


def pack(cast, staff=None, tablet=TABLET):
    return json.loads(build_pack(cast.meeting, staff or cast.omar, NOW, tablet))


def pictured(cast, **about):
    return [child["name"] for child in pack(cast, **about)["children"] if child.get("pictures")]


def test_off_until_a_director_of_the_hall_turns_them_on(client, cast):
    assert "Pictures from the side are off" in _halls(client, cast)
    assert pack(cast)["side_view"] is None
    turn_on(client, cast)
    assert halls_with_pictures([cast.hall, cast.other_hall]) == {cast.hall.pk}
    assert "Pictures from the side are on" in _halls(client, cast)
    turn_on(client, cast, "no")
    assert pack(cast)["side_view"] is None
    # Each turn is kept, by whom and when.
    assert list(HallPictures.objects.values_list("is_on", "by", "at")) == [
        (True, cast.petra.pk, NOW),
        (False, cast.petra.pk, NOW),
    ]


def _halls(client, cast):
    client.force_login(cast.petra)
    return client.get("/halls").text


def test_a_hall_that_is_not_ones_own_is_not_turned_on(client, cast):
    assert turn_on(client, cast, hall=cast.other_hall).status_code == 400
    client.force_login(cast.omar)
    assert client.post("/halls/pictures", {"hall": cast.hall.pk, "on": "yes"}).status_code == 403
    assert not HallPictures.objects.exists()


def test_a_child_is_pictured_only_with_a_yes_of_every_guardian_who_answered(client, cast):
    turn_on(client, cast)
    assert pictured(cast) == []
    client.force_login(cast.omar)
    answers(client, cast.mai, "yes", "her mother")
    assert pictured(cast) == ["Mai"]
    answers(client, cast.mai, "no", "her father")
    assert pictured(cast) == []
    answers(client, cast.mai, "yes", "her father")
    assert pictured(cast) == ["Mai"]


def test_the_yes_to_hands_is_no_yes_to_pictures_and_the_other_way_round(client, cast):
    turn_on(client, cast)
    assert may_be_pictured([cast.mai, cast.ilse], TODAY) == set()
    client.force_login(cast.omar)
    answers(client, cast.ilse, "no")
    assert not pack(cast)["children"][0]["no_consent"]


def test_it_is_asked_again_each_season(client, cast, settings):
    client.force_login(cast.omar)
    answers(client, cast.mai, "yes")
    kept = PictureConsent.objects.get()
    assert may_be_pictured([cast.mai], kept.asked_again_on - datetime.timedelta(days=1))
    assert not may_be_pictured([cast.mai], kept.asked_again_on)


def test_nothing_is_offered_to_an_assistant_or_on_a_tablet_that_is_not_enrolled(client, cast):
    turn_on(client, cast)
    client.force_login(cast.omar)
    answers(client, cast.mai, "yes")
    for about in ({"staff": cast.tam}, {"tablet": {"tablet": None}}, {"tablet": None}):
        assert pack(cast, **about)["side_view"] is None
        assert pictured(cast, **about) == []


def test_a_form_sent_twice_is_one_answer_and_a_wrong_one_changes_nothing(client, cast):
    client.force_login(cast.omar)
    address, form = f"/children/{cast.mai.uuid}/pictures", says("yes")
    client.post(address, form)
    client.post(address, form)
    assert PictureConsent.objects.count() == 1
    for wrong in ({"answer": ""}, {"answer": "perhaps"}, {"seen_by": ""}):
        assert client.post(address, says("no") | wrong).status_code == 422
    client.force_login(cast.ines)
    assert client.post(address, says("no")).status_code == 404
    assert PictureConsent.objects.get().yes


def test_a_no_on_a_record_that_was_merged_counts(client, cast):
    twin = make_child("Mai Trann", cast.blue)
    client.force_login(cast.omar)
    answers(client, twin, "no", "her aunt")
    answers(client, cast.mai, "yes", "her mother")
    merge(twin, cast.mai, cast.petra, NOW)
    assert may_be_pictured([cast.mai], TODAY) == set()


def test_the_question_does_not_grow_with_the_class(cast):
    def queries() -> int:
        children = list(cast.blue.children.all())
        with CaptureQueriesContext(connection) as asked:
            may_be_pictured(children, TODAY)
        return len(asked)

    few = queries()
    for n in range(20):
        make_child(f"Child {n}", cast.blue)
    assert queries() == few == 2
