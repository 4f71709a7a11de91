"""The list of children: search, filters, the file; one child added and changed."""

import csv
import io
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Child, ClassListChange, Contact
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, make_child

pytestmark = [pytest.mark.django_db]


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def petra(client, cast):
    client.force_login(cast.petra)
    return client


def listed(response):
    return [row.child.name for row in response.context["rows"]]


def names_found(client, text):
    return listed(client.post("/children", {"q": text}))


NO_CONTACTS = {"contact-TOTAL_FORMS": "0", "contact-INITIAL_FORMS": "0"}


def facts(**said):
    return {"name": "Ana Reis", "born": "2016-04", "letter_language": "en", **NO_CONTACTS, **said}


@pytest.mark.parametrize("text", ["lukasz", "ŁUK", "dorde", "Đor", "uka ord", "soren"])
def test_search_finds_any_part_of_a_name_without_accents(petra, cast, text):
    names = {"Đorđe Łukasz", "Søren Dahl"}
    for name in names:
        make_child(name, cast.blue)
    found = names_found(petra, text)
    assert found
    assert set(found) <= names


def test_the_name_used_is_found_and_no_sign_has_a_meaning(petra, cast):
    child = make_child("Magdalena Ek", cast.blue)
    Child.objects.filter(pk=child.pk).update(name_used="Žofka")
    child.refresh_from_db()
    child.save(update_fields=["search_key"])
    assert names_found(petra, "zof") == ["Magdalena Ek"]
    assert names_found(petra, "%") == []
    assert names_found(petra, "_") == []


def test_a_director_of_another_hall_finds_nobody_of_this_one(client, cast):
    client.force_login(cast.dora)
    assert names_found(client, "mai") == []


def test_who_left_is_listed_apart(petra, cast):
    Child.objects.filter(pk=cast.ilse.pk).update(left_on=TODAY)
    assert cast.ilse.name not in listed(petra.get("/children"))
    assert listed(petra.get("/children?which=left")) == [cast.ilse.name]


def test_the_file_has_what_the_desk_keeps_and_no_formula(petra, cast):
    Child.objects.filter(pk=cast.mai.pk).update(caution="＝no weight on the left wrist")
    Contact.objects.create(child=cast.mai, name="Bo", phone="+49 30 1", to_call=True)
    answer = petra.post("/children", {"q": cast.mai.name, "as": "csv"})
    rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    line = dict(zip(*rows, strict=True))
    assert line["caution"] == "'＝no weight on the left wrist"
    assert line["call"] == "Bo +49 30 1"


def test_the_list_asks_the_database_as_often_for_twenty_children_as_for_two(petra, cast):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            petra.get("/children")
        return len(caught)

    petra.get("/children")
    few = queries()
    for n in range(20):
        make_child(f"Child {chr(97 + n)}", cast.blue)
    assert queries() == few


def test_a_child_is_added_once_and_is_in_its_class_from_its_day(petra, cast):
    token = str(uuid.uuid4())
    contacts = {
        "contact-TOTAL_FORMS": "1", "contact-0-name": "Bo", "contact-0-phone": "030 1",
        "contact-0-household": "2", "contact-0-to_call": "on",
    }  # fmt: skip
    said = facts(
        groups=[cast.blue.uuid], day="2026-03-02", token=token, born="2016", **{**contacts}
    )
    for _twice in range(2):
        assert petra.post("/children/add", said).status_code == 302
    child = Child.objects.get(name="Ana Reis")
    assert (child.born, child.is_known, child.age_on(TODAY)) == ("2016", True, 9)
    assert list(child.classes.all()) == [cast.blue]
    change = ClassListChange.objects.get(child=child)
    assert (change.day.isoformat(), change.joins) == ("2026-03-02", True)
    contact = child.contacts.get()
    assert (contact.name, contact.household, contact.to_call) == ("Bo", 2, True)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"born": "2016-13"}, "Write 2016-04, or 2016 for the year only."),
        ({"born": "2026-04"}, "This day has not come yet."),
        ({"name": "--"}, "There is no letter in this name."),
        ({"groups": []}, "Choose a class: nobody sees who is in none."),
        ({"token": "x"}, ""),
    ],
)
def test_what_is_wrong_is_said_and_nobody_is_added(petra, cast, wrong, sentence):
    said = facts(groups=[cast.blue.uuid], day="2026-03-02", token=str(uuid.uuid4()))
    answer = petra.post("/children/add", said | wrong)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Child.objects.filter(name="Ana Reis").exists()


def test_a_name_and_a_month_are_corrected(petra, cast):
    said = facts(
        name="Mái Trần", born="2015-12", caution="no weight on the left wrist", kick_leg="left"
    )
    assert petra.post(f"/children/{cast.mai.uuid}/facts", said).status_code == 302
    child = Child.objects.get(pk=cast.mai.pk)
    assert (child.name, child.born, child.kick_leg) == ("Mái Trần", "2015-12", "left")
    assert child.caution == "no weight on the left wrist"
    assert names_found(petra, "mai tran") == ["Mái Trần"]


def test_who_must_not_be_told_is_not_called(petra, cast):
    contact = {
        "contact-TOTAL_FORMS": "1", "contact-0-name": "Bo", "contact-0-household": "1",
        "contact-0-to_call": "on", "contact-0-not_told": "on",
    }  # fmt: skip
    answer = petra.post(f"/children/{cast.mai.uuid}/facts", facts(**contact))
    assert answer.status_code == 422
    assert "Who must not be told is not called" in answer.content.decode()
    assert not Contact.objects.exists()


def test_a_merged_childs_family_and_caution_are_those_of_both_and_undoing_loses_nobody(petra, cast):
    other = make_child("Mai T.", cast.blue)
    Child.objects.filter(pk=other.pk).update(caution="no weight on the left wrist")
    Contact.objects.create(child=other, name="Bo", phone="1")
    Contact.objects.create(child=cast.mai, name="Ada", phone="2")
    merge(other, cast.mai, cast.petra, NOW)
    (row,) = petra.post("/children", {"q": "mai"}).context["rows"]
    assert (row.child, row.caution) == (cast.mai, "no weight on the left wrist")
    both = {"contact-TOTAL_FORMS": "2", "contact-0-name": "Ada", "contact-0-phone": "2"}
    both |= {"contact-1-name": "Bo", "contact-1-phone": "1"}
    both |= {f"contact-{n}-household": "1" for n in range(2)}
    assert petra.post(f"/children/{cast.mai.uuid}/facts", facts(**both)).status_code == 302
    assert {c.name: c.child for c in Contact.objects.all()} == {"Bo": other, "Ada": cast.mai}
