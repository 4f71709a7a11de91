"""A child who came and is not on the list: found in the hall, or put down as a new one."""

import datetime
import json

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt
from readiness.floor.pack import build_pack
from readiness.record.intake import take_lines
from studio.models import Child, MeetingVisit
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id

MAT = "sprung-dance-floor"


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def omar(client, cast):
    client.force_login(cast.omar)
    return client


def post(client, cast, what, **body):
    return client.post(f"/floor/{cast.meeting.uuid}/{what}", body, "application/json")


def found(client, cast, q):
    return post(client, cast, "search", q=q).json()["children"]


def names_in(cast):
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    return [child["name"] for child in pack["children"]]


def turn(child_id, nth=0):
    about = {"drill": "log-roll", "surface": MAT, "support": 0, "clean": True}
    line = {"kind": "turn", "id": str(time_ordered_id(NOW, nth)), "at": NOW.isoformat()}
    return line | about | {"child": child_id}


def test_a_child_of_the_hall_is_found_by_any_part_with_name_age_and_class_alone(omar, cast):
    Child.objects.filter(pk=cast.rosa.pk).update(guardian="Ana", caution="Asthma")
    (child,) = found(omar, cast, cast.rosa.name[1:4].upper())
    age = cast.rosa.age_on(TODAY)
    shown = {"id": str(cast.rosa.uuid), "name": "Rosa", "age": age, "group": "Red"}
    assert child == shown


@pytest.mark.parametrize("q", ["", "r", " r ", "nobody at all"])
def test_one_letter_and_nobodys_name_find_nobody(omar, cast, q):
    assert found(omar, cast, q) == []


def test_found_are_none_of_the_class_none_who_left_and_none_of_another_hall(omar, cast):
    make_child("Rosalind Far", cast.far)
    gone = make_child("Rosamund Gone", cast.red)
    Child.objects.filter(pk=gone.pk).update(left_on=TODAY)
    assert [child["name"] for child in found(omar, cast, "ros")] == ["Rosa"]
    assert found(omar, cast, cast.mai.name) == []


def test_it_asks_as_much_for_two_as_for_twelve(omar, cast):
    asked = []
    for nth in range(11):
        make_child(f"Rosa{nth} Test", cast.red)
        if nth in (1, 10):
            with CaptureQueriesContext(
                connection,
            ) as queries:
                found(omar, cast, "rosa")
            asked.append(len(queries))
    assert asked[0] == asked[1]


@pytest.mark.parametrize(
    ("why", "makes_up"), [("make-up", True), ("trial", False), ("sibling", False)]
)
def test_chosen_she_is_in_the_class_for_tonight_only_and_it_is_logged_why(
    omar, cast, why, makes_up
):
    answer = post(omar, cast, "visit", child=str(cast.rosa.uuid), why=why)
    assert answer.json() == {"child": str(cast.rosa.uuid)}
    visit = MeetingVisit.objects.get()
    assert (visit.why, visit.makes_up, visit.by) == (why, makes_up, cast.omar)
    assert names_in(cast) == ["Ilse", "Mai", "Rosa"]
    assert cast.rosa not in cast.blue.children.all()
    sent = take_lines(cast.meeting, cast.omar, "t", NOW, [turn(str(cast.rosa.uuid))], 3, NOW)
    assert [each.answer for each in sent] == ["kept"]
    # Twice is once.
    assert post(omar, cast, "visit", child=str(cast.rosa.uuid), why=why).status_code == 404
    assert MeetingVisit.objects.count() == 1


def test_a_child_of_another_hall_is_not_let_in(omar, cast):
    far = make_child("Far Away", cast.far)
    answer = post(omar, cast, "visit", child=str(far.uuid), why="trial")
    assert answer.status_code == 404
    assert not MeetingVisit.objects.exists()


@pytest.mark.parametrize(
    ("what", "body"),
    [
        ("search", {}),
        ("search", {"q": 3}),
        ("search", {"q": "x" * 121}),
        ("visit", {"child": "x", "why": "trial"}),
        ("visit", {"why": "trial"}),
        ("visit", {"child": "018f0000-0000-7000-8000-000000000000", "why": "friend"}),
        ("new-child", {}),
        ("new-child", {"id": "00000000-0000-4000-8000-000000000000"}),
    ],
)
def test_what_cannot_be_read_is_refused_and_adds_nobody(omar, cast, what, body):
    before = Child.objects.count()
    answer = post(omar, cast, what, **body)
    assert (answer.status_code, answer.json()["error"]) == (400, "unreadable")
    assert (Child.objects.count(), MeetingVisit.objects.count()) == (before, 0)


def test_nobody_is_let_into_a_class_of_another_day(omar, cast):
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        omar.force_login(cast.omar)
        assert post(omar, cast, "search", q="rosa").status_code == 404
        assert post(omar, cast, "visit", child=str(cast.rosa.uuid), why="trial").status_code == 404
        new = str(time_ordered_id(NOW))
        assert post(omar, cast, "new-child", id=new).status_code == 404
    assert not MeetingVisit.objects.exists()


def test_a_new_child_has_a_number_and_asked_twice_is_one(omar, cast):
    first, second = str(time_ordered_id(NOW, 1)), str(time_ordered_id(NOW, 2))
    assert post(omar, cast, "new-child", id=first).json() == {"child": first}
    post(omar, cast, "new-child", id=first)
    post(omar, cast, "new-child", id=second)
    assert names_in(cast) == ["Ilse", "Mai", "New child 1", "New child 2"]
    taken = post(omar, cast, "new-child", id=str(cast.rosa.uuid))
    assert taken.status_code == 400


def test_a_new_childs_turns_stay_and_without_a_familys_yes_there_are_no_hands(omar, cast):
    new = str(time_ordered_id(NOW, 1))
    post(omar, cast, "new-child", id=new)
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    assert next(one for one in pack["children"] if one["id"] == new)["no_consent"]
    take_lines(cast.meeting, cast.omar, "t", NOW, [turn(new)], 3, NOW)
    assert str(Attempt.objects.get().child.uuid) == new


def test_two_tablets_that_made_the_same_one_are_shown_as_likely_the_same(omar, client, cast):
    for nth in (1, 2):
        post(omar, cast, "new-child", id=str(time_ordered_id(NOW, nth)))
    client.force_login(cast.petra)
    assert "both came without a name into one class on one day" in (
        client.get("/doubles").content.decode()
    )
    new = Child.objects.get(name="New child 1")
    page = client.get(f"/children/{new.uuid}/same-as").content.decode()
    assert "both came without a name into one class on one day" in page
