"""The screen in the hall: names used and stations, only where a director wants it."""

import datetime
import uuid
import zoneinfo

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Drill
from readiness.models import (
    HallReport,
    Pain,
    RotationBegun,
    StationPlace,
    StationPlan,
    WallScreen,
)
from readiness.stations.wall.page import wall_context
from studio.models import Attendance
from studio.people.told_apart import names_in_sight
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_five():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def wanted(cast):
    WallScreen.objects.create(hall=cast.hall, wanted=True, by=cast.petra, at=NOW)


@pytest.fixture
def plan(cast):
    """Mai: hollow hold, then front support; Ilse: safe fall, then log roll."""
    about = {"rotations": 2, "minutes": 8, "start": 0, "by": cast.omar, "at": NOW}
    row = StationPlan.objects.create(
        meeting=cast.meeting, places={"hollow-hold": [[], [1]]}, **about
    )
    put(row, "hollow-hold", 0, cast.mai)
    put(row, "safe-fall", 0, cast.ilse)
    put(row, "front-support", 1, cast.mai)
    put(row, "log-roll", 1, cast.ilse)
    return row


def put(row, key, rotation, child, spotters=0):
    station = f"{key}+{spotters}" if spotters else key
    about = {"station": station, "drill": Drill.objects.get(key=key), "spotters": spotters}
    StationPlace.objects.create(plan=row, rotation=rotation, child=child, **about)


def begin(cast, number, minutes_ago=0):
    at = NOW - datetime.timedelta(minutes=minutes_ago)
    RotationBegun.objects.create(
        id=uuid.UUID(int=number), meeting=cast.meeting, number=number, at=at, by=cast.omar,
        received_at=at, digest="",
    )  # fmt: skip


def shown(cast):
    context = wall_context(cast.meeting, NOW)
    return {
        card.name: [(child.name, child.next) for child in card.children]
        for card in context["cards"]
    } | {"": context["nowhere"]}


def address(cast):
    return f"/stations/{cast.meeting.uuid}/wall"


def test_it_is_off_until_a_director_wants_it_and_off_again_when_not(cast, plan):
    client, director = signed_in(cast.tam), signed_in(cast.petra)
    assert client.get(address(cast)).status_code == 404

    def say(wanted):
        about = {"token": str(uuid.uuid4()), "hall": cast.hall.pk, "wanted": wanted}
        return director.post("/halls/wall", about)

    assert say("yes").status_code == 302
    assert "A screen in this hall may show" in text_of(director.get("/halls/equipment"))
    # An assistant of the class, too.
    assert "Mai" in text_of(client.get(address(cast)))
    say("yes")
    say("no")
    assert list(WallScreen.objects.order_by("pk").values_list("wanted", flat=True)) == [True, False]
    assert client.get(address(cast)).status_code == 404


def test_what_cannot_be_read_is_said_and_changes_nothing(cast):
    wrong = {"token": str(uuid.uuid4()), "hall": cast.hall.pk, "wanted": "perhaps"}
    answer = signed_in(cast.petra).post("/halls/wall", wrong)
    assert answer.status_code == 422
    assert "nothing was changed" in text_of(answer)
    # Dora directs another hall, Omar none.
    not_hers = {"token": str(uuid.uuid4()), "hall": cast.hall.pk, "wanted": "yes"}
    assert signed_in(cast.dora).post("/halls/wall", not_hers).status_code == 422
    assert signed_in(cast.omar).post("/halls/wall", not_hers).status_code == 403
    assert not WallScreen.objects.exists()


def test_who_is_where_now_and_next_with_the_place_in_the_hall(cast, plan, wanted):
    assert shown(cast) == {
        "Hollow hold": [("Mai", "Front support")],
        "Safe fall": [("Ilse", "Hollow-arch log roll")],
        "": [],
    }
    page = text_of(signed_in(cast.omar).get(address(cast)))
    assert "Rotation 1 of 2" in page
    assert "begins soon" in page
    assert "floor 2" in page
    begin(cast, 2)
    # After the last there is none.
    assert shown(cast) == {
        "Front support": [("Mai", "")],
        "Hollow-arch log roll": [("Ilse", "")],
        "": [],
    }
    end = (NOW + datetime.timedelta(minutes=8)).astimezone(zoneinfo.ZoneInfo(cast.hall.zone))
    assert f"until {end:%H:%M}" in text_of(signed_in(cast.omar).get(address(cast)))
    begin(cast, 3)
    assert "Stations are over." in text_of(signed_in(cast.omar).get(address(cast)))


def test_without_a_plan_it_says_so(cast, wanted):
    assert "No stations yet." in text_of(signed_in(cast.omar).get(address(cast)))


def test_nothing_of_the_record_is_on_it(cast, plan, wanted, log):
    put(plan, "back-walkover", 1, make_child("Nora Veen", cast.blue), spotters=1)
    make_child("Mai Veen", cast.blue)
    page = signed_in(cast.omar).get(address(cast)).text
    assert "Mai T." in page
    for word in ("Tran", "Veen", "spotter", "hands-on", "gate", "wrist", cast.omar.called):
        assert word not in page, word


def test_who_is_away_is_not_on_it_and_who_may_not_be_there_asks_a_coach(cast, plan):
    about = {"meeting": cast.meeting, "at": NOW, "by": cast.omar, "digest": ""}
    Pain.objects.create(
        id=time_ordered_id(NOW), child=cast.mai, place="wrist", day=TODAY, received_at=NOW, **about
    )
    visitor = make_child("Nora Veen", cast.blue)
    # The wrist bears no weight in a hollow hold; a front support stands on it.
    assert shown(cast) == {
        "Hollow hold": [("Mai", "")],
        "Safe fall": [("Ilse", "Hollow-arch log roll")],
        "": ["Nora"],
    }
    put(plan, "safe-fall", 0, visitor)
    Attendance.objects.create(id=time_ordered_id(NOW, 1), child=cast.ilse, present=False, **about)
    assert shown(cast)["Safe fall"] == [("Nora", "")]
    begin(cast, 2)
    assert shown(cast)[""] == ["Mai", "Nora"]


def test_a_held_station_is_empty_while_the_spotter_is_gone(cast, plan):
    put(plan, "safe-fall", 0, make_child("Nora Veen", cast.blue), spotters=1)
    assert shown(cast)[""] == []
    HallReport.objects.create(
        id=time_ordered_id(NOW), meeting=cast.meeting, kind="spotter-gone", at=NOW, by=cast.omar,
        received_at=NOW, digest="",
    )  # fmt: skip
    assert shown(cast)[""] == ["Nora"]


def test_queries_do_not_grow_with_the_class(cast, plan, wanted):
    client = signed_in(cast.omar)

    def queries():
        client.get(address(cast))
        with CaptureQueriesContext(connection) as caught:
            client.get(address(cast))
        return len(caught)

    few = queries()
    for number in range(20):
        put(plan, "hollow-hold", 0, make_child(f"Child{number} Long", cast.blue))
    assert queries() == few


def test_names_in_sight_are_told_apart_by_letters_then_numbers_never_by_a_whole_name(cast):
    names = ["Bo Vu", "Bo Vermeer", "Bo Velde", "Ada Ek", "Ada Ek", "Cleo Ahlgren"]
    children = [make_child(name, cast.blue) for name in names]
    children[3].list_id = "S-17"
    said = names_in_sight(children)
    assert [said[child.pk] for child in children] == [
        "Bo V.", "Bo Ver.", "Bo Vel.", "Ada E. · 1", "Ada E. · 2", "Cleo",
    ]  # fmt: skip
