"""The season's turn: one sheet for a class, what comes back in one list, a slip a household."""

import csv
import io
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Child, Contact
from studio.people.consents import answer_on
from tests.support.cast import NOW, TODAY, make_child
from tests.support.guards import forget_answers

pytestmark = pytest.mark.django_db


@pytest.fixture
def petra(client, cast):
    client.force_login(cast.petra)
    with time_machine.travel(NOW, tick=False):
        yield client


@pytest.fixture
def bo(cast):
    return Contact.objects.create(child=cast.mai, name="Bo", phone="030 1", to_call=True)


def sheet(cast, **said):
    """What the browser sends: of each field also what stood there when the page was made."""
    seen = {"seen_by": "Petra", "seen_on": "2026-03-04", "token": str(uuid.uuid4())}
    return seen | {f"{cast.mai.uuid}-{name}": value for name, value in said.items()}


def test_answers_telephones_and_cautions_of_a_class_are_kept_in_one_go(petra, cast, bo):
    forget_answers(cast.mai)
    phone = f"phone{bo.pk}"
    said = sheet(
        cast, answer="yes", caution="no weight on the left wrist", more_name="Ada", more_phone="7",
        **{phone: "030 2"},
    )  # fmt: skip
    said |= {f"initial-{cast.mai.uuid}-{phone}": "030 1", f"initial-{cast.mai.uuid}-caution": ""}
    for _twice in range(2):
        assert petra.post(f"/season/{cast.blue.uuid}", said).status_code == 302
    child = Child.objects.get(pk=cast.mai.pk)
    assert child.caution == "no weight on the left wrist"
    assert [(c.name, c.phone) for c in child.contacts.order_by("pk")] == [
        ("Bo", "030 2"), ("Ada", "7"),
    ]  # fmt: skip
    answers = list(child.spotting_consents.all())
    assert [(each.yes, each.seen_by) for each in answers] == [(True, "Petra")]
    assert answer_on(answers, TODAY) == "yes"
    assert cast.ilse.contacts.count() == 0


def test_what_somebody_else_changed_meanwhile_is_not_put_back(petra, cast, bo):
    said = sheet(cast, **{f"phone{bo.pk}": "030 1"})
    said |= {f"initial-{cast.mai.uuid}-phone{bo.pk}": "030 1"}
    Contact.objects.filter(pk=bo.pk).update(phone="030 9")
    petra.post(f"/season/{cast.blue.uuid}", said)
    bo.refresh_from_db()
    assert bo.phone == "030 9"


def test_no_form_leaves_the_answer_as_it_is(petra, cast):
    before = cast.mai.spotting_consents.count()
    petra.post(f"/season/{cast.blue.uuid}", sheet(cast, answer=""))
    assert cast.mai.spotting_consents.count() == before


@pytest.mark.parametrize("wrong", [{"more_phone": "7"}, {"answer": "perhaps"}])
def test_a_line_that_is_wrong_keeps_nothing_of_the_sheet(petra, cast, wrong):
    said = sheet(cast, **{"caution": "no weight", **wrong})
    answer = petra.post(f"/season/{cast.blue.uuid}", said)
    assert answer.status_code == 422
    assert Child.objects.get(pk=cast.mai.pk).caution == ""


def test_a_slip_has_the_telephones_of_its_own_household_alone(petra, cast, bo):
    Contact.objects.create(child=cast.mai, name="Cleo", phone="040 5", household=2)
    Contact.objects.create(child=cast.mai, name="Dan", phone="050 6", household=2, not_told=True)
    page = petra.get(f"/season/{cast.blue.uuid}/slips").content.decode()
    slips = [slip for slip in page.split("<section")[1:] if cast.mai.name in slip]
    assert len(slips) == 2
    assert ["030 1" in slip for slip in slips] == [True, False]
    assert ["040 5" in slip for slip in slips] == [False, True]
    assert "050 6" not in page


def test_the_sheet_is_given_out_safe_and_without_who_left(petra, cast, bo):
    Child.objects.filter(pk=cast.ilse.pk).update(left_on=TODAY)
    Child.objects.filter(pk=cast.mai.pk).update(caution="＝1")
    text = petra.get(f"/season/{cast.blue.uuid}?as=csv").content.decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text)))
    assert rows[1][:1] + rows[1][4:] == [cast.mai.name, "'＝1", "Bo 030 1"]
    assert len(rows) == 2


def test_the_sheet_asks_as_often_for_a_full_class_as_for_two(petra, cast):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            petra.get(f"/season/{cast.blue.uuid}")
        return len(caught)

    queries()
    few = queries()
    for n in range(20):
        Contact.objects.create(child=make_child(f"Child {chr(97 + n)}", cast.blue), name="Bo")
    assert queries() == few
