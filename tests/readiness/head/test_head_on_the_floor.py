"""A head on the floor, after a fall or as what hurts: the way back begins, unless it was another
child's and is taken back within the two minutes allowed."""

import datetime
import json

import pytest
import time_machine

from readiness.floor.pack import build_pack
from readiness.models import HeadKnock, Pain
from readiness.record.intake import take_lines
from readiness.record.standings import read
from readiness.record.told.head_knocks import knocks_of
from tests.support.cast import NOW, TODAY, time_ordered_id

MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _tonight():
    with time_machine.travel(NOW, tick=False):
        yield


def line(kind, number, at=NOW, **about):
    return {"kind": kind, "id": str(time_ordered_id(NOW, number)), "at": at.isoformat(), **about}


def hurt(child, place, number=1, at=NOW):
    return line("hurt", number, at, child=str(child.uuid), place=place)


def send(cast, *lines, now=NOW):
    return [
        answer.answer for answer in take_lines(cast.meeting, cast.omar, "t", now, lines, 2, now)
    ]


def head_step(child, day=TODAY):
    return read(child, day).read.head_step


def test_a_head_begins_the_way_back_on_that_day_beside_the_pause(cast):
    assert send(cast, hurt(cast.mai, "head")) == ["kept"]
    knock, pain = HeadKnock.objects.get(), Pain.objects.get()
    assert (knock.id, knock.child, knock.on, knock.elsewhere) == (pain.id, cast.mai, TODAY, False)
    assert (knock.meeting, knock.by, knock.at) == (cast.meeting, cast.omar, NOW)
    assert head_step(cast.mai) == 0
    assert read(cast.mai, TODAY).read.paused_since == TODAY
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    steps = {child["name"]: child["head_step"] for child in pack["children"]}
    assert steps["Mai"] == 0
    assert {step for name, step in steps.items() if name != "Mai"} == {None}


@pytest.mark.parametrize("place", ["neck", "back-fall", "wrist"])
def test_another_place_does_not(cast, place):
    send(cast, hurt(cast.mai, place))
    assert not HeadKnock.objects.exists()
    assert head_step(cast.mai) is None


def test_the_same_line_twice_is_one_knock(cast):
    head = hurt(cast.mai, "head")
    assert [send(cast, head), send(cast, head)] == [["kept"], ["had"]]
    assert HeadKnock.objects.count() == 1


@pytest.mark.parametrize("in_one_call", [True, False])
def test_taken_back_as_the_wrong_childs_it_is_the_other_childs(cast, in_one_call):
    wrong, right = hurt(cast.mai, "head"), hurt(cast.ilse, "head", 2, NOW + MINUTE)
    later = NOW + 2 * MINUTE
    about = {"turn": wrong["id"], "code": "wrong-child", "instead": right["id"]}
    back = line("strike", 9, later, **about)
    if in_one_call:
        send(cast, wrong, right, back, now=later)
    else:
        send(cast, wrong)
        assert head_step(cast.mai) == 0
        send(cast, right, back, now=later)
    assert (head_step(cast.mai), head_step(cast.ilse)) == (None, 0)
    assert not knocks_of(cast.mai).exists()
    assert HeadKnock.objects.count() == 2, "both stay readable"


def test_after_two_minutes_it_stays(cast):
    wrong, right = hurt(cast.mai, "head"), hurt(cast.ilse, "head", 2)
    send(cast, wrong, right)
    later = NOW + 3 * MINUTE
    about = {"turn": wrong["id"], "code": "wrong-child", "instead": right["id"]}
    assert send(cast, line("strike", 9, later, **about), now=later) == ["refused"]
    assert (head_step(cast.mai), head_step(cast.ilse)) == (0, 0)


def test_a_pause_that_is_lifted_leaves_the_steps_to_be_given(cast, client):
    send(cast, hurt(cast.mai, "head"))
    client.force_login(cast.petra)
    said = client.get(f"/children/{cast.mai.uuid}/head").content.decode()
    assert "A knock on the head on 4 Mar" in said
    assert "Earliest day: 5 Mar." in said
