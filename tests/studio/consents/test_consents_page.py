"""The answers of all families from the enrolment forms, in one list."""

import pytest
import time_machine

from studio.models import SpottingConsent
from studio.people.consents import answer_on
from tests.support.cast import EARLY, NOW, TODAY, give_consent, make_child
from tests.support.guards import lifted

pytestmark = pytest.mark.django_db
SEEN = {"seen_by": "Petra", "seen_on": "2026-03-02"}


@pytest.fixture(autouse=True)
def _tonight():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def asked(cast):
    """Two of the hall whose families have not answered."""
    return [make_child(name, cast.blue, hands=False) for name in ("Ada Alder", "Bo Birch")]


@pytest.fixture
def petra(client, cast):
    client.force_login(cast.petra)
    return client


def answer_of(child):
    return answer_on(child.spotting_consents.all(), TODAY)


def test_those_who_have_not_answered_are_listed_and_no_others(petra, cast, asked):
    give_consent(cast.mai, yes=False, day=TODAY)
    page = petra.get("/consents").context["page"]
    assert [row.child.name for row in page.rows] == ["Ada Alder", "Bo Birch"]
    assert page.refused == 1


def test_yes_for_all_marks_everybody_and_stores_nothing(petra, asked):
    response = petra.post("/consents", SEEN | {"all": "yes"})
    assert response.status_code == 200
    assert [row.marked for row in response.context["page"].rows] == ["yes", "yes"]
    assert response.context["form"]["seen_by"].value() == "Petra"
    assert [answer_of(child) for child in asked] == ["not-asked", "not-asked"]


def test_what_is_marked_is_kept_with_who_saw_the_forms_and_when(petra, cast, asked):
    ada, bo = asked
    marks = {f"answer-{ada.uuid}": "yes", f"answer-{bo.uuid}": "no"}
    response = petra.post("/consents", SEEN | marks)
    assert response["Location"] == "/consents"
    assert [answer_of(ada), answer_of(bo)] == ["yes", "no"]
    kept = SpottingConsent.objects.get(child=ada)
    assert (kept.seen_by, str(kept.seen_on), kept.by, kept.day) == (
        "Petra", "2026-03-02", cast.petra, TODAY,
    )  # fmt: skip
    assert petra.get("/consents").context["page"].rows == []


def test_who_is_not_marked_stays_not_asked(petra, asked):
    ada, bo = asked
    petra.post("/consents", SEEN | {f"answer-{ada.uuid}": "yes", f"answer-{bo.uuid}": ""})
    assert [answer_of(ada), answer_of(bo)] == ["yes", "not-asked"]


@pytest.mark.parametrize(
    "wrong", [{"seen_by": ""}, {"seen_on": ""}, {"seen_on": "2026-03-05"}, {"seen_on": "soon"}]
)
def test_without_who_saw_them_and_when_nothing_is_kept(petra, asked, wrong):
    marks = {f"answer-{asked[0].uuid}": "yes"}
    response = petra.post("/consents", SEEN | marks | wrong)
    assert response.status_code == 422
    assert response.context["page"].rows[0].marked == "yes"
    assert answer_of(asked[0]) == "not-asked"


def test_a_form_with_nobody_marked_says_so(petra, asked):
    response = petra.post("/consents", SEEN)
    assert response.status_code == 422
    assert "Nobody was marked" in response.content.decode()


def test_a_child_of_another_hall_cannot_be_answered_for(petra, cast):
    far = make_child("Far Away", cast.far, hands=False)
    assert petra.post("/consents", SEEN | {f"answer-{far.uuid}": "yes"}).status_code == 422
    assert answer_of(far) == "not-asked"


def test_somebody_who_answered_meanwhile_is_left_alone(petra, cast):
    give_consent(cast.mai, yes=False, day=TODAY)
    petra.post("/consents", SEEN | {f"answer-{cast.mai.uuid}": "yes"})
    assert answer_of(cast.mai) == "no"


def test_a_coach_cannot(client, cast, asked):
    client.force_login(cast.omar)
    response = client.post("/consents", SEEN | {f"answer-{asked[0].uuid}": "yes"})
    assert response.status_code == 403
    assert answer_of(asked[0]) == "not-asked"


def test_what_was_said_last_season_stands_beside_the_name(petra, cast):
    child = make_child("Ada Alder", cast.blue, hands=False)
    old = give_consent(child, day=EARLY)
    with lifted():
        SpottingConsent.objects.filter(pk=old.pk).update(asked_again_on=TODAY)
    assert "last season: yes" in petra.get("/consents").content.decode()


def test_each_of_them_has_a_slip_to_sign(petra, asked):
    text = petra.get("/consents/slips").content.decode()
    assert "Ada may say no on any evening, without a reason." in text
    assert "Bo may say no on any evening, without a reason." in text


def test_180_children_take_no_more_queries_than_two(
    petra, cast, asked, django_assert_num_queries, django_assert_max_num_queries
):
    petra.get("/consents")
    with django_assert_num_queries(FIXED):
        petra.get("/consents")
    more = [make_child(f"Child {n:03}", cast.red, hands=False) for n in range(180)]
    with django_assert_num_queries(FIXED):
        petra.get("/consents")
    marks = {f"answer-{child.uuid}": "yes" for child in more}
    # SQLite takes so many rows in two statements, PostgreSQL in one.
    with django_assert_max_num_queries(FIXED + 7):
        petra.post("/consents", SEEN | marks)
    assert {answer_of(child) for child in more} == {"yes"}


# One of them asks which records the children have.
FIXED = 8
