"""A guardian's word about hands-on spotting, at the desk: shown and changed on the child's page."""

import json
import uuid

import pytest
import time_machine

from readiness.floor.pack import build_pack
from studio.people.consents import answer_on
from tests.support.cast import NOW, TODAY, give_consent
from tests.support.guards import forget_answers

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _tonight():
    with time_machine.travel(NOW, tick=False):
        yield


def says(**changed):
    usual = {"guardian": "", "answer": "no", "seen_by": "Omar", "seen_on": "2026-03-04"}
    return usual | {"token": str(uuid.uuid4())} | changed


def answer_of(child):
    return answer_on(child.spotting_consents.all(), TODAY)


def test_a_coach_writes_down_a_no_and_it_counts_at_once(client, cast):
    client.force_login(cast.omar)
    response = client.post(f"/children/{cast.mai.uuid}/consent", says())
    assert response["Location"] == f"/children/{cast.mai.uuid}#consent"
    kept = cast.mai.spotting_consents.latest("at")
    assert (kept.yes, kept.seen_by, kept.by, kept.day) == (False, "Omar", cast.omar, TODAY)
    assert answer_of(cast.mai) == "no"


def test_a_form_sent_twice_is_one_answer(client, cast):
    client.force_login(cast.omar)
    form = says()
    client.post(f"/children/{cast.mai.uuid}/consent", form)
    client.post(f"/children/{cast.mai.uuid}/consent", form)
    assert cast.mai.spotting_consents.filter(yes=False).count() == 1


@pytest.mark.parametrize(
    "wrong", [{"answer": ""}, {"answer": "perhaps"}, {"seen_by": ""}, {"seen_on": "2026-03-05"}]
)
def test_an_incomplete_form_changes_nothing(client, cast, wrong):
    client.force_login(cast.omar)
    response = client.post(f"/children/{cast.mai.uuid}/consent", says(**wrong))
    assert response.status_code == 422
    assert answer_of(cast.mai) == "yes"


def test_an_assistant_cannot(client, cast):
    client.force_login(cast.tam)
    assert client.post(f"/children/{cast.mai.uuid}/consent", says()).status_code == 403
    assert answer_of(cast.mai) == "yes"


@pytest.mark.parametrize("page", ["", "/evidence/4"])
def test_without_a_yes_the_page_says_what_that_means(client, cast, page):
    client.force_login(cast.omar)
    address = f"/children/{cast.mai.uuid}{page}"
    means = "Without a yes Mai does no skill that needs a spotter"
    assert means not in client.get(address).content.decode()
    forget_answers(cast.mai)
    assert f"Hands-on spotting: not asked. {means}" in client.get(address).content.decode()
    give_consent(cast.mai, yes=False)
    assert f"Hands-on spotting: no. {means}" in client.get(address).content.decode()


def test_the_page_says_from_when_it_is_asked_again(client, cast):
    client.force_login(cast.omar)
    text = client.get(f"/children/{cast.mai.uuid}").content.decode()
    assert "asked again from 1 September 2100" in text


def test_a_no_changes_the_floor_the_list_and_the_page_on_the_same_evening(client, cast):
    client.force_login(cast.petra)
    assert not pack_of(cast)["no_consent"]
    client.post(f"/children/{cast.mai.uuid}/consent", says())
    assert pack_of(cast)["no_consent"]
    (row,) = client.post("/children", {"q": "mai tran"}).context["rows"]
    assert row.hands == "no"
    assert "Hands-on spotting: no." in client.get(f"/children/{cast.mai.uuid}").content.decode()


def test_a_yes_that_another_no_takes_the_effect_from_is_answered_with_whose_no_it_is(client, cast):
    client.force_login(cast.petra)
    address = f"/children/{cast.mai.uuid}/consent"
    client.post(address, says())
    page = client.post(address, says(answer="yes", guardian="Ana Tran"), follow=True)
    assert answer_of(cast.mai) == "no"
    assert "A no that was written down without a name still counts." in page.content.decode()
    page = client.post(address, says(answer="yes"), follow=True)
    assert answer_of(cast.mai) == "yes"
    assert "still counts" not in page.content.decode()
    client.post(address, says(guardian="Ana Tran"))
    page = client.post(address, says(answer="yes", guardian="Bo Tran"), follow=True)
    assert "The no of Ana Tran still counts." in page.content.decode()


def pack_of(cast):
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    return next(child for child in pack["children"] if child["id"] == str(cast.mai.uuid))


def test_past_midnight_in_the_hall_its_own_day_is_no_day_to_come(client, cast):
    client.force_login(cast.omar)
    with time_machine.travel("2026-03-04 23:30:00+00:00", tick=False):
        sent = says(seen_on="2026-03-05")
        assert client.post(f"/children/{cast.mai.uuid}/consent", sent).status_code == 302
