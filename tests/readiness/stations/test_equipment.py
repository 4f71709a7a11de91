"""What a hall has: counted by a director, every change kept."""

import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.models import HallEquipment
from readiness.stations.evening.equipment import counts_of
from tests.support.cast import NOW
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_five():
    with time_machine.travel(NOW, tick=False):
        yield


def post(cast, by, **counts):
    about = {"token": str(uuid.uuid4()), "hall": cast.hall.pk} | counts
    return signed_in(by).post("/halls/equipment", about)


def test_a_director_counts_and_what_is_left_empty_stays_uncounted(cast):
    counts = {"wedge": 2, "wall-place": 6, "floor-place": 9, "barrel": ""}
    assert post(cast, cast.petra, **counts).status_code == 302
    assert counts_of(cast.hall) == {"wedge": 2, "wall-place": 6, "floor-place": 9}
    assert counts_of(cast.other_hall) == {}


def test_a_change_is_a_row_by_whom_and_what_is_the_same_is_none(cast):
    post(cast, cast.petra, wedge=2, barrel=1)
    post(cast, cast.luis, wedge=3, barrel=1)
    rows = HallEquipment.objects.order_by("pk").values_list("thing", "count", "by__username")
    assert sorted(rows) == [("barrel", 1, "petra"), ("wedge", 2, "petra"), ("wedge", 3, "luis")]
    page = text_of(signed_in(cast.petra).get("/halls/equipment"))
    assert "4 Mar 2026, Luis." in page


def test_none_of_a_thing_is_said_too(cast):
    post(cast, cast.petra, wedge=2)
    post(cast, cast.petra, wedge=0)
    assert counts_of(cast.hall) == {"wedge": 0}


def test_a_form_sent_twice_is_kept_once(cast):
    token = str(uuid.uuid4())
    post(cast, cast.petra, token=token, wedge=2)
    post(cast, cast.petra, token=token, wedge=5)
    assert counts_of(cast.hall) == {"wedge": 2}


@pytest.mark.parametrize("wrong", [{"wedge": -1}, {"wedge": "two"}, {"wedge": 201}])
def test_what_is_no_number_is_refused_and_nothing_stored(cast, wrong):
    assert post(cast, cast.petra, barrel=1, **wrong).status_code == 422
    assert not HallEquipment.objects.exists()


def test_nobody_else_counts(cast):
    assert post(cast, cast.omar, wedge=2).status_code == 403
    # Of another hall.
    assert post(cast, cast.dora, wedge=2).status_code == 422
    assert not HallEquipment.objects.exists()


def test_its_queries_do_not_grow_with_what_was_said(cast):
    client = signed_in(cast.petra)
    address = "/halls/equipment"

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            client.get(address)
        return len(caught)

    post(cast, cast.petra, wedge=1)
    client.get(address)
    few = queries()
    for count in range(2, 22):
        post(cast, cast.petra, wedge=count)
    assert queries() == few
