"""What is said of the children before class: who needs more, and who is nearly there."""

import copy
import datetime
import json
from collections.abc import Mapping
from typing import Any

import pytest

from progression.models import LadderVersion
from readiness.engine.gates.common import TURNS_IN_A_CLASS
from readiness.floor.before_class import ORDER, entries_of, under_headings
from readiness.floor.pack import build_pack
from readiness.models import Pain, Pause
from readiness.record.decisions import recommend, sign
from readiness.record.intake import take_lines
from readiness.record.ladder_loading import load
from readiness.record.ladders import NamedLadder
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import read, read_many
from studio.models import Child
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child, time_ordered_id
from tests.support.ready import MAT, WEEKS, place_at, ready_to_be_signed

Said = dict[str, dict[str, str]]


def said(*children: Child, day: datetime.date = TODAY) -> Said:
    """For each heading: what is said of whom, by name."""
    readings = read_many(children, day)
    by_id = {str(child.uuid): child.called for child in children}
    told: list[Mapping] = under_headings(
        (reading.child.uuid, entries_of(reading, reading.child.called)) for reading in readings
    )
    return {
        part["about"]: {by_id[each["id"]]: each["says"] for each in part["children"]}
        for part in told
    }


def hurt(cast: Cast, child: Child, place: str, day: datetime.date) -> None:
    at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    Pain.objects.create(
        id=time_ordered_id(at),
        child=child,
        meeting=cast.meeting,
        place=place,
        day=day,
        at=at,
        by=cast.omar,
        received_at=at,
        digest="",
    )


def turn_line(child: Child, day: datetime.date, **about: Any) -> dict[str, Any]:
    at = datetime.datetime.combine(day, datetime.time(17, 30), datetime.UTC)
    about = {"drill": "back-walkover", "surface": MAT, "support": 3, "clean": False} | about
    named = {"kind": "turn", "id": str(time_ordered_id(at)), "at": at.isoformat()}
    return named | {"child": str(child.uuid)} | about


def test_of_a_child_with_nothing_on_record_nothing_is_said(cast: Cast):
    assert said(cast.mai, cast.ilse) == {}


def test_a_stop_sign_last_week_is_said_with_the_support_now(cast: Cast, log: Logged):
    place_at(cast, cast.mai, 3, WEEKS[0])
    log(cast.mai, "back-walkover", "111", day=WEEKS[1])
    log(cast.mai, "back-walkover", "0", day=WEEKS[2], faults=("arms-give",))
    assert said(cast.mai) == {
        "re-check": {
            "Mai": "Back walkover: Elbows fold, head sinks toward the floor, 25 Feb. Back "
            "walkover: hands-on now, 0 of 3 clean to end the re-check."
        }
    }


def test_what_happened_is_what_the_turns_of_that_day_say(cast: Cast, log: Logged):
    place_at(cast, cast.mai, 3, WEEKS[0])
    log(cast.mai, "back-walkover", "0", day=WEEKS[1], faults=("head-touches",))
    turn = log(cast.mai, "back-walkover", "0", day=WEEKS[2], faults=("half-hearted",))[0]
    line = turn_line(cast.mai, WEEKS[2], caught=True)
    take_lines(turn.meeting, cast.omar, "t", turn.received_at, [line], 1, turn.received_at)
    sees = NamedLadder(1, LadderVersion.objects.get().content).faults["half-hearted"]["sees"]
    words = said(cast.mai)["re-check"]["Mai"]
    assert words.startswith(f"Back walkover: {sees}; caught, 25 Feb.")


def test_a_stop_sign_that_was_taken_back_is_not_said(cast: Cast, log: Logged):
    place_at(cast, cast.mai, 3, WEEKS[0])
    first = log(cast.mai, "back-walkover", "0", day=WEEKS[2], faults=("half-hearted",))[0]
    log(cast.mai, "back-walkover", "0", day=WEEKS[2], faults=("arms-give",))
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    strike |= {"turn": str(first.pk), "code": "wrong-tap"}
    take_lines(first.meeting, cast.omar, "t", NOW, [strike], 1, NOW)
    words = said(cast.mai)["re-check"]["Mai"]
    assert words.startswith("Back walkover: Elbows fold, head sinks toward the floor, 25 Feb.")


def test_of_a_paused_child_only_the_pause_is_said(cast: Cast, log: Logged):
    ready_to_be_signed(cast, log)
    Pause.objects.create(child=cast.mai, reason="ankle", by=cast.petra, at=NOW, day=WEEKS[2])
    assert said(cast.mai) == {"paused": {"Mai": "Paused since 25 Feb"}}


@pytest.mark.parametrize(
    ("day", "asked"),
    [(WEEKS[2], "25 Feb"), (WEEKS[1], "18 Feb"), (TODAY, "")],
    ids=["at the last class", "before the last class", "today"],
)
def test_what_hurt_before_is_asked_again_until_somebody_has_answered(
    cast: Cast, log: Logged, day: datetime.date, asked: str
):
    log(cast.mai, "hollow-hold", [20], day=WEEKS[1])
    log(cast.mai, "hollow-hold", [20], day=WEEKS[2])
    hurt(cast, cast.mai, "wrist", day)
    question = f"Wrist, on {asked}: gone, or still there? Until it is gone, nothing that loads it."
    assert said(cast.mai).get("hurt", {}) == ({"Mai": question} if asked else {})
    gone = {"kind": "gone", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    gone |= {"child": str(cast.mai.uuid), "place": "wrist"}
    assert take_lines(cast.meeting, cast.omar, "t", NOW, [gone], 2, NOW)[0].answer == "kept"
    assert "hurt" not in said(cast.mai)


@pytest.mark.parametrize(
    ("day", "asked"),
    [(WEEKS[2], True), (WEEKS[1], False), (TODAY, False)],
    ids=["at the last class", "before the last class", "today"],
)
def test_a_ladder_that_does_not_ask_says_what_hurt_at_the_last_class(
    cast: Cast, log: Logged, ladder_content: Any, day: datetime.date, asked: bool
):
    content = copy.deepcopy(ladder_content)
    del content["pain_rule"]["ask"]
    load(content, now=NOW, from_day=WEEKS[0], reason="no question")
    log(cast.mai, "hollow-hold", [20], day=WEEKS[1])
    log(cast.mai, "hollow-hold", [20], day=WEEKS[2])
    hurt(cast, cast.mai, "wrist", day)
    found = said(cast.mai).get("hurt", {})
    assert found == ({"Mai": "Wrist. Ask again before anything else."} if asked else {})


@pytest.mark.parametrize(("days", "back"), [(28, False), (29, True)])
def test_more_than_28_days_without_a_turn_is_a_long_time(
    cast: Cast, log: Logged, days: int, back: bool
):
    log(cast.mai, "hollow-hold", [20], day=TODAY - datetime.timedelta(days=days))
    assert ("back" in said(cast.mai)) is back


def test_once_signed_the_first_turn_of_the_day_is_said(cast: Cast, log: Logged):
    ready_to_be_signed(cast, log)
    late = NOW + datetime.timedelta(hours=2)

    def seen():
        return stage_snapshot(read(cast.mai, TODAY), "4")

    recommend(cast.mai, "4", cast.omar, seen(), late, MAT)
    sign(cast.mai, "4", cast.petra, seen(), late, MAT, TODAY)
    assert "first-turn" not in said(cast.mai)
    tomorrow = TODAY + datetime.timedelta(days=1)
    assert said(cast.mai, day=tomorrow)["first-turn"]["Mai"].startswith("Back walkover")


def test_headings_stand_in_their_order_and_only_with_children(cast: Cast, log: Logged):
    place_at(cast, cast.ilse, 3, WEEKS[0])
    log(cast.ilse, "back-walkover", "0", day=WEEKS[2], faults=("arms-give",))
    log(cast.mai, "hollow-hold", [20], day=TODAY - datetime.timedelta(days=40))
    hurt(cast, cast.ilse, "knee", WEEKS[2])
    found = list(said(cast.mai, cast.ilse))
    assert found == ["re-check", "hurt", "back"]
    assert found == [heading for heading in ORDER if heading in found]


# --- one good class from review ------------------------------------------------------


def test_a_child_whose_gates_are_all_met_waits_for_people_and_not_for_a_class(
    cast: Cast, log: Logged
):
    ready_to_be_signed(cast, log)
    assert "near" not in said(cast.mai)


def test_without_the_last_day_one_good_class_is_missing(cast: Cast, log: Logged):
    place_at(cast, cast.mai, 3, WEEKS[0] - datetime.timedelta(weeks=4))
    for day in WEEKS[:3]:
        log(cast.mai, "back-walkover", "1111", day=day, support=1, surface=MAT)
    for day in WEEKS[:2]:
        log(cast.mai, "bridge-line", [2, 2], day=day, support=0, surface=MAT)
    log(cast.mai, "back-walkover", "11", day=WEEKS[2], support=1, surface=MAT, by=cast.ines)
    near = said(cast.mai)["near"]["Mai"]
    assert near.startswith("Back walkover, unspotted: ")
    # What is said comes true: so many clean turns today, and the stage is for review.
    log(cast.mai, "back-walkover", "1" * TURNS_IN_A_CLASS, support=1, surface=MAT)
    (after,) = read_many([cast.mai], TODAY)
    assert after.read.stage("4").state == "for-review"


def test_two_days_short_is_not_one_class(cast: Cast, log: Logged):
    place_at(cast, cast.mai, 3, WEEKS[0] - datetime.timedelta(weeks=4))
    for day in WEEKS[:2]:
        log(cast.mai, "back-walkover", "1111", day=day, support=1, surface=MAT)
        log(cast.mai, "bridge-line", [2, 2], day=day, support=0, surface=MAT)
    log(cast.mai, "back-walkover", "11", day=WEEKS[1], support=1, surface=MAT, by=cast.ines)
    assert "near" not in said(cast.mai)


def test_the_pack_tells_it_with_the_names_of_the_page(cast: Cast, log: Logged, client):
    other = make_child("Mai Ohm", cast.blue)
    log(other, "hollow-hold", [20], day=TODAY - datetime.timedelta(days=40))
    client.force_login(cast.omar)
    pack = client.get(f"/floor/{cast.meeting.uuid}/pack").json()
    assert [part["about"] for part in pack["before"]] == ["back"]
    assert pack["before"][0]["children"][0]["id"] == str(other.uuid)


def test_a_fall_of_the_same_day_is_told_with_what_it_asks_not_with_an_old_step(
    cast: Cast, log: Logged
):
    place_at(cast, cast.mai, 3, WEEKS[0])
    log(cast.mai, "back-walkover", "111", day=WEEKS[1])
    log(cast.mai, "back-walkover", "0", day=WEEKS[2], faults=("arms-give",))
    log(cast.mai, "back-walkover", "110", day=TODAY, faults=("arms-give",))
    told = said(cast.mai)["re-check"]["Mai"]
    assert told == (
        "Back walkover: Elbows fold, head sinks toward the floor, 4 Mar. Hands-on now; the way "
        "back begins on the next class day."
    )


def test_the_desks_caution_stands_before_class_and_on_the_childs_sheet(cast):
    Child.objects.filter(pk=cast.mai.pk).update(caution="no weight on the left wrist")
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    assert pack["before"][0]["about"] == "caution"
    assert pack["before"][0]["children"] == [
        {"id": str(cast.mai.uuid), "says": "no weight on the left wrist"}
    ]
    by_id = {child["id"]: child["caution"] for child in pack["children"]}
    assert by_id == {str(cast.mai.uuid): "no weight on the left wrist", str(cast.ilse.uuid): ""}
