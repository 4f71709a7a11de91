"""Accounts on the page: invited, changed, let in again; papers; nothing taken away unasked."""

import datetime
import re

import pytest
import time_machine
from django.test import Client

from studio.models import AccountChange, Pin, Staff, StaffPaper
from studio.sign_in.pins import set_pin
from studio.staff.changing import account_mark, papers_mark
from studio.staff.leaving import leave
from studio.staff.links import make_link, use_link
from tests.support.cast import NOW, TODAY
from tests.support.pages import signed_in

DAY = datetime.timedelta(days=1)
WORD = "seven lanterns over a weir"


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


def invite(by, **said):
    fields = {"first_name": "Nils", "last_name": "Aune", "username": "nils", "role": "coach"}
    return signed_in(by).post("/staff/invite", fields | said)


def change(by, of, **said):
    of = Staff.objects.get(pk=of.pk)
    fields = {
        "first_name": of.first_name,
        "last_name": of.last_name,
        "role": of.role,
        "halls": list(of.locations.values_list("pk", flat=True)),
        "classes": list(of.classes.values_list("pk", flat=True)),
        "seen": account_mark(of),
    }
    return signed_in(by).post(f"/staff/{of.uuid}/change", fields | said)


def test_a_coach_is_invited_and_comes_in_with_her_own_password(cast):
    answer = invite(cast.petra, halls=[cast.hall.pk], classes=[cast.blue.pk])
    nils = Staff.objects.get(username="nils")
    assert answer["Location"] == f"/staff/{nils.uuid}"
    assert "No password is chosen yet." in signed_in(cast.petra).get(answer["Location"]).text
    assert (nils.called, nils.role, nils.has_usable_password()) == ("Nils Aune", "coach", False)
    assert list(nils.classes.all()) == [cast.blue]
    use_link(make_link(nils, cast.petra, NOW), WORD, NOW)
    client = Client()
    assert client.post("/sign-in", {"username": "nils", "password": WORD}).status_code == 302
    assert client.get(f"/classes/{cast.blue.uuid}").status_code == 200


def test_a_guest_is_invited_for_one_day(cast):
    invite(cast.petra, halls=[cast.hall.pk], role="director", guest_on="2026-03-05")
    assert Staff.objects.get(username="nils").guest_on == TODAY + DAY


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"username": "OMAR"}, "Somebody has this sign-in name already."),
        ({"username": "ni ls"}, "Enter a valid username."),
        ({"first_name": " "}, "This field is required."),
        ({"role": "owner"}, "Select a valid choice."),
        ({"halls": []}, "Choose at least one of your halls."),
        ({"guest_on": "tomorrow"}, "Enter a valid date."),
    ],
)
def test_an_invitation_that_cannot_be_is_refused_with_a_sentence(cast, said, sentence):
    refused = invite(cast.petra, **({"halls": [cast.hall.pk]} | said))
    assert refused.status_code == 422
    assert sentence in refused.text
    assert Staff.objects.count() == 6
    assert not AccountChange.objects.exists()


def test_nobody_gives_a_hall_that_is_not_hers(cast):
    assert invite(cast.petra, halls=[cast.other_hall.pk]).status_code == 422
    assert change(cast.petra, cast.petra, halls=[cast.other_hall.pk]).status_code == 422
    assert not cast.other_hall.staff.filter(pk=cast.petra.pk).exists()


def test_role_name_and_classes_are_changed_and_told(cast):
    answer = change(cast.petra, cast.tam, role="coach", last_name="Lund", classes=[cast.red.pk])
    assert answer.status_code == 302
    tam = Staff.objects.get(pk=cast.tam.pk)
    assert (tam.called, tam.role, list(tam.classes.all())) == ("Tam Lund", "coach", [cast.red])
    said = "Tam Lund was given another role by Petra."
    assert said in signed_in(cast.luis).get("/staff").text


def test_halls_and_classes_that_the_director_does_not_see_stay(cast):
    cast.omar.locations.add(cast.other_hall)
    cast.omar.classes.add(cast.far)
    change(cast.petra, cast.omar, halls=[cast.hall.pk], classes=[cast.red.pk])
    assert set(cast.omar.locations.all()) == {cast.hall, cast.other_hall}
    assert set(cast.omar.classes.all()) == {cast.red, cast.far}


def test_of_two_desks_the_second_is_told_and_changes_nothing(cast):
    seen = account_mark(cast.omar)
    change(cast.petra, cast.omar, classes=[cast.blue.pk, cast.red.pk])
    late = change(cast.luis, cast.omar, first_name="Omer", seen=seen)
    assert late.status_code == 409
    assert "Somebody else changed this meanwhile." in late.text
    omar = Staff.objects.get(pk=cast.omar.pk)
    assert (omar.first_name, omar.classes.count()) == ("Omar", 2)


def test_no_director_is_made_less_and_no_guest_is_made_more(cast):
    assert change(cast.petra, cast.luis, role="coach").status_code == 404
    change(cast.petra, cast.petra, role="coach")
    assert Staff.objects.filter(role="director").count() == 3
    invite(cast.petra, halls=[cast.hall.pk], role="director", guest_on="2026-03-05")
    guest = Staff.objects.get(username="nils")
    change(cast.petra, guest, guest_on="")
    assert Staff.objects.get(pk=guest.pk).guest_on == TODAY + DAY


def test_a_pin_is_taken_away(cast):
    set_pin(cast.omar, "490273", NOW)
    assert "Take the PIN away" in signed_in(cast.petra).get(f"/staff/{cast.omar.uuid}").text
    assert signed_in(cast.petra).post(f"/staff/{cast.omar.uuid}/pin").status_code == 302
    assert not Pin.objects.exists()


def test_whoever_left_is_let_in_again_without_the_old_password(cast):
    leave(cast.omar, TODAY - DAY, cast.petra, NOW)
    address = f"/staff/{cast.omar.uuid}"
    assert signed_in(cast.petra).post(f"{address}/link").status_code == 422
    assert signed_in(cast.petra).post(f"{address}/back").status_code == 302
    omar = Staff.objects.get(pk=cast.omar.pk)
    assert (omar.left_on, omar.has_usable_password()) == (None, False)
    use_link(make_link(omar, cast.petra, NOW), WORD, NOW)
    known = {"username": "omar", "password": WORD}
    assert Client().post("/sign-in", known).status_code == 302


def papers(by, of, **days):
    fields = {"seen": papers_mark(of), **days}
    return signed_in(by).post(f"/staff/{of.uuid}/papers", fields)


def test_papers_run_out_with_a_word_before(cast):
    days = {"first-aid": TODAY - DAY, "check": TODAY + 60 * DAY, "spotting": TODAY + 61 * DAY}
    sent = {kind: day.isoformat() for kind, day in days.items()}
    assert papers(cast.petra, cast.omar, **sent).status_code == 302
    for page in ("/staff", f"/staff/{cast.omar.uuid}"):
        text = signed_in(cast.petra).get(page).text
        assert "First aid: ran out on 3 March 2026." in text
        assert "Background check: runs out on 3 May 2026." in text
        assert "Spotting course: runs" not in text
    assert re.search(r"<label[^>]*>First aid", text)


def test_a_paper_with_no_day_is_refused_and_a_second_desk_is_told(cast):
    assert papers(cast.petra, cast.omar, check="May").status_code == 422
    papers(cast.petra, cast.omar, check="2027-01-01")
    late = signed_in(cast.luis).post(
        f"/staff/{cast.omar.uuid}/papers", {"seen": papers_mark(cast.tam)}
    )
    assert late.status_code == 409
    assert StaffPaper.objects.get().kind == "check"


@pytest.mark.parametrize("who", ["omar", "tam", "ines"])
def test_nobody_else_invites_or_changes(cast, who):
    by = getattr(cast, who)
    assert invite(by, halls=[cast.hall.pk]).status_code == 403
    assert change(by, cast.tam, role="director").status_code == 403
    assert Staff.objects.get(pk=cast.tam.pk).role == "assistant"


def test_a_director_who_came_by_pin_changes_nobody(cast):
    from studio.tablets.enrolment import COOKIE, enrol

    set_pin(cast.petra, "490273", NOW)
    tablet, secret = enrol("Blue case", cast.hall, cast.luis, NOW)
    client = Client()
    client.cookies[COOKIE] = secret
    client.post("/change-over", {"who": cast.petra.uuid, "pin": "490273"})
    assert client.get("/").status_code == 200
    assert client.post(f"/staff/{cast.omar.uuid}/link").status_code == 403
    assert client.post("/staff/invite", {}).status_code == 403
    assert tablet.withdrawn_at is None
