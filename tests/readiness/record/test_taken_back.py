"""What hurts and who is not here, taken back by whoever wrote it down; a pause hardly ever."""

import datetime
import json

import pytest
import time_machine

from progression.models import Strike
from readiness.floor.pack import build_pack
from readiness.models import Pain
from readiness.record.intake import take_lines
from readiness.record.standings import read
from studio.models import Meeting
from tests.support.cast import NOW, TODAY, time_ordered_id

MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _tonight():
    with time_machine.travel(NOW, tick=False):
        yield


def line(kind, number, at=NOW, **about):
    return {"kind": kind, "id": str(time_ordered_id(NOW, number)), "at": at.isoformat(), **about}


def send(cast, *lines, by=None, now=NOW, meeting=None):
    """The last answer, as "kept", or the code of the refusal."""
    answers = take_lines(meeting or cast.meeting, by or cast.omar, "t", now, lines, 2, now)
    return answers[-1].code or answers[-1].answer


def hurt(child, place, number=1, at=NOW):
    return line("hurt", number, at, child=str(child.uuid), place=place)


def strike(of, number=9, at=NOW, code="wrong-tap", **about):
    return line("strike", number, at, turn=of["id"], code=code, **about)


def hurts(cast, child):
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    found = next(each for each in pack["children"] if each["id"] == str(child.uuid))
    return found["pains"], [each["place"] for each in found["hurts"]], found["paused"]


@pytest.mark.parametrize("in_one_call", [True, False])
def test_what_hurts_is_taken_back_by_who_wrote_it_down_and_stays_readable(
    client, cast, in_one_call
):
    wrist = hurt(cast.mai, "wrist")
    if in_one_call:
        assert send(cast, wrist, strike(wrist)) == "kept"
    else:
        assert send(cast, wrist) == "kept"
        assert hurts(cast, cast.mai) == (["wrist"], ["wrist"], False)
        assert send(cast, strike(wrist)) == "kept"
    assert hurts(cast, cast.mai) == ([], [], False)
    assert Pain.objects.count() == 1
    client.force_login(cast.petra)
    for address in ("/review", f"/children/{cast.mai.uuid}"):
        assert "aken back" in client.get(address).content.decode()


def test_nobody_else_takes_it_back_nor_another_class_nor_a_later_day(cast):
    wrist = hurt(cast.mai, "wrist")
    send(cast, wrist)
    assert send(cast, strike(wrist), by=cast.petra) == "not-yours"
    assert send(cast, strike(wrist, 8), by=cast.tam) == "not-yours"
    other = Meeting.objects.create(
        group=cast.blue, date=TODAY + datetime.timedelta(days=1), starts_at=cast.blue.starts_at
    )
    assert send(cast, strike(wrist, 7), meeting=other) == "not-yours"
    tomorrow = NOW + datetime.timedelta(days=1)
    assert send(cast, strike(wrist, 6, tomorrow), now=tomorrow) == "too-late"
    assert hurts(cast, cast.mai)[0] == ["wrist"]
    assert Strike.objects.count() == 0


def test_an_absence_is_taken_back_and_what_was_said_before_counts(cast):
    here = line("here", 1, child=str(cast.mai.uuid), present=True)
    away = line("here", 2, child=str(cast.mai.uuid), present=False)
    send(cast, here, away)
    assert send(cast, strike(away)) == "kept"
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    assert {child["name"]: child["present"] for child in pack["children"]}["Mai"] is True


@pytest.mark.parametrize("place", ["head", "neck", "back-fall"])
def test_a_pause_is_moved_to_the_right_child_within_two_minutes(cast, place):
    wrong, right = hurt(cast.mai, place), hurt(cast.ilse, place, 2, NOW + MINUTE)
    send(cast, wrong)
    later = NOW + 2 * MINUTE
    move = strike(wrong, 9, later, "wrong-child", instead=right["id"])
    assert send(cast, right, move, now=later) == "kept"
    assert not read(cast.mai, TODAY).read.state.paused_since
    assert read(cast.ilse, TODAY).read.state.paused_since == TODAY
    assert send(cast, move, now=later) == "had"


def test_a_pause_stays_without_the_right_child_or_with_another_reason_or_later(cast):
    head = hurt(cast.mai, "head")
    knee, own = hurt(cast.ilse, "knee", 2), hurt(cast.mai, "head", 3)
    right = hurt(cast.ilse, "head", 4)
    send(cast, head, knee, own, right)
    late, three = NOW + 2 * MINUTE + datetime.timedelta(seconds=1), NOW + 10 * MINUTE
    refused = [
        (strike(head, 10, code="wrong-child"), NOW),
        (strike(head, 11, code="wrong-child", instead=knee["id"]), NOW),
        (strike(head, 12, code="wrong-child", instead=own["id"]), NOW),
        (strike(head, 13, code="wrong-tap", instead=right["id"]), NOW),
        (strike(head, 14, late, "wrong-child", instead=right["id"]), late),
        # The tablet's clock says one minute, the server's ten.
        (strike(head, 15, NOW + MINUTE, "wrong-child", instead=right["id"]) | {"offset": 0}, three),
    ]
    for each, now in refused:
        assert send(cast, each, now=now) == "pause-stays"
    assert read(cast.mai, TODAY).read.state.paused_since == TODAY


def test_a_strike_that_comes_before_its_pause_takes_nothing_back(cast):
    head = hurt(cast.mai, "head")
    assert send(cast, strike(head), now=NOW - MINUTE) == "kept"
    assert send(cast, head) == "kept"
    assert read(cast.mai, TODAY).read.state.paused_since == TODAY


def test_a_caught_turn_that_is_struck_is_told_to_the_director(client, cast):
    about = {"drill": "log-roll", "surface": "sprung-dance-floor", "support": 0, "clean": False}
    turn = line("turn", 1, child=str(cast.mai.uuid), caught=True, **about)
    assert send(cast, turn, strike(turn)) == "kept"
    client.force_login(cast.petra)
    assert "Caught by the spotter" in client.get("/review").content.decode()
