"""No yes to hands, or "no hands tonight": what was done all the same is kept, flagged and told."""

import datetime
import json

import pytest
import time_machine

from progression.models import Attempt, LadderVersion, RejectedLine, Surface
from readiness.floor.pack import build_pack
from readiness.models import NoHands
from readiness.record.intake import take_lines
from readiness.record.standings import fresh_standings, read
from studio.models import Meeting
from studio.people.consents import NewAnswer, write_down
from tests.support.cast import NOW, TODAY, give_consent, make_child, time_ordered_id
from tests.support.guards import forget_answers

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _tonight():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def placed(cast):
    """Mai may do the walkover, hands-on."""
    day = TODAY - datetime.timedelta(days=30)
    cast.mai.placings.create(
        stage=3,
        surface=Surface.objects.get(key="sprung-dance-floor"),
        reason="seen",
        by=cast.petra,
        at=datetime.datetime.combine(day, datetime.time(17), datetime.UTC),
        day=day,
        ladder=LadderVersion.objects.get(),
    )
    return cast.mai


def allowed(child, drill="back-walkover", day=TODAY):
    return read(child, day).read.allowed(drill, "sprung-dance-floor")


def said(cast, child, by=None, meeting=None, **about):
    line = {"kind": "no-hands", "id": str(time_ordered_id(NOW, 1)), "at": NOW.isoformat()}
    line |= {"child": str(child.uuid)} | about
    return send(cast, line, by, meeting), line


def send(cast, line, by=None, meeting=None):
    meeting, by = meeting or cast.meeting, by or cast.omar
    return take_lines(meeting, by, "tablet", NOW, [line], 2, NOW)[0]


def strike_of(line):
    about = {"turn": line["id"], "code": "other", "at": NOW.isoformat()}
    return {"kind": "strike", "id": str(time_ordered_id(NOW, 2)), **about}


def child_in_pack(cast, child):
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    return next(each for each in pack["children"] if each["id"] == str(child.uuid)), pack


def test_a_turn_without_a_yes_is_kept_and_flagged_and_the_director_is_told(
    client, cast, log, placed
):
    give_consent(placed, yes=False, day=TODAY)
    turns = log(placed, "back-walkover", "1") + log(placed, "hollow-hold", [20])
    assert [turn.flags for turn in turns] == [["no-consent"], []]
    client.force_login(cast.petra)
    assert "done without a guardian&#x27;s yes to hands" in client.get("/review").content.decode()


def test_a_late_turn_of_a_day_before_the_no_is_not_flagged(cast, log, placed):
    give_consent(placed, yes=False, day=TODAY)
    turns = log(placed, "back-walkover", "1", day=TODAY - datetime.timedelta(days=7))
    assert turns[0].flags == []


def test_an_answer_given_between_two_turns_counts_from_then_on(cast, log, placed):
    log(placed, "back-walkover", "1")
    at = datetime.datetime.combine(TODAY, datetime.time(17, 30), datetime.UTC)
    write_down([NewAnswer(placed, "", False)], "Omar", TODAY, cast.omar, at)
    line = {
        "kind": "turn",
        "id": str(time_ordered_id(at, 7)),
        "at": (at + datetime.timedelta(minutes=1)).isoformat(),
        "child": str(placed.uuid),
        "drill": "back-walkover",
        "surface": "sprung-dance-floor",
        "support": 3,
        "clean": True,
    }
    later = at + datetime.timedelta(hours=1)
    take_lines(cast.meeting, cast.omar, "tablet", later, [line], 2, later)
    flags = Attempt.objects.order_by("done_at").values_list("flags", flat=True)
    assert list(flags) == [[], ["no-consent"]]


def test_an_answer_makes_what_is_stored_of_the_child_be_read_again(cast, log, placed):
    log(placed, "back-walkover", "1")
    fresh_standings([placed], NOW)
    assert child_in_pack(cast, placed)[0]["no_consent"] is False
    write_down([NewAnswer(placed, "", False)], "Omar", TODAY, cast.omar, NOW)
    assert child_in_pack(cast, placed)[0]["no_consent"] is True


@pytest.mark.parametrize("asked", [True, False])
def test_before_class_names_whom_nobody_may_hold(cast, placed, asked):
    if asked:
        give_consent(placed, yes=False)
    else:
        forget_answers(placed)
    about = {each["about"]: each["children"] for each in child_in_pack(cast, placed)[1]["before"]}
    assert about["no-consent"] == [
        {"id": str(placed.uuid), "says": "No yes to hands. Shapes, holds, wall work."}
    ]


def test_a_new_child_of_whom_nobody_asked_begins_like_all_others(cast, log):
    """Stage 1 is open from the first class, not from the day of the upgrade or before."""
    child = make_child("Ada Alder", cast.blue, hands=False)
    log(child, "hollow-hold", [20])
    opened = read(child, TODAY + datetime.timedelta(days=1)).read.state.opened
    assert {opening.since for opening in opened.values()} == {TODAY}


def test_no_hands_tonight_closes_it_for_the_evening_and_costs_nothing(cast, placed):
    before = allowed(placed)
    answer, _ = said(cast, placed)
    assert answer.answer == "kept"
    assert (allowed(placed).support, allowed(placed).causes) == (None, ("no-hands",))
    row = NoHands.objects.get()
    assert (row.child, row.meeting, row.day, row.by) == (placed, cast.meeting, TODAY, cast.omar)
    assert allowed(placed, day=TODAY + datetime.timedelta(days=1)) == before


def test_a_turn_done_all_the_same_is_flagged(cast, log, placed):
    said(cast, placed, at="2026-03-04T16:00:00+00:00")
    assert log(placed, "back-walkover", "1")[0].flags == ["no-hands"]


def test_sent_twice_it_is_had(cast, placed):
    _, line = said(cast, placed)
    assert send(cast, line).answer == "had"
    assert NoHands.objects.count() == 1


def test_taken_back_it_is_as_before(cast, placed):
    before = allowed(placed)
    _, line = said(cast, placed, by=cast.tam)
    fresh_standings([placed], NOW)
    assert child_in_pack(cast, placed)[0]["no_hands"] == [line["id"]]
    assert send(cast, strike_of(line), by=cast.tam).answer == "kept"
    assert allowed(placed) == before
    assert child_in_pack(cast, placed)[0]["no_hands"] == []


def test_another_class_cannot_take_it_back(cast, placed):
    _, line = said(cast, placed)
    red, _ = Meeting.objects.get_or_create(group=cast.red, date=TODAY, starts_at=cast.red.starts_at)
    answer = send(cast, strike_of(line), by=cast.ines, meeting=red)
    assert (answer.answer, answer.code) == ("refused", "not-yours")
    assert allowed(placed).causes == ("no-hands",)
    assert RejectedLine.objects.count() == 1


def test_it_is_said_of_a_child_of_the_class(cast, placed):
    answer, _ = said(cast, cast.rosa)
    assert (answer.answer, answer.code) == ("refused", "not-in-class")
    assert not NoHands.objects.exists()


def test_the_pack_says_what_is_allowed_but_for_it_so_that_it_can_be_taken_back(cast, placed):
    before = child_in_pack(cast, placed)[0]["drills"]["back-walkover"]["allowed"]
    said(cast, placed)
    assert child_in_pack(cast, placed)[0]["drills"]["back-walkover"]["allowed"] == before
