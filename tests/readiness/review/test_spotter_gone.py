"""A held turn after the spotter had gone is told to the director, and never refused."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt
from readiness.record.intake import take_lines
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.pages import get, text_of
from tests.support.ready import place_at

TOLD = "held or stood by, after the spotter was said to be gone"
HELD = {"drill": "back-walkover", "support": 3}


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def said(cast):
    """Takes lines of the class, each with its minute after NOW; answers their ids."""
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=4))

    def say(*lines: dict) -> list[str]:
        later = NOW + datetime.timedelta(hours=1)
        made = []
        for each in lines:
            at = NOW + datetime.timedelta(minutes=each.pop("minute"))
            made.append({"id": str(time_ordered_id(at)), "at": at.isoformat(), **each})
        answers = take_lines(cast.meeting, cast.omar, "tablet 3", later, made, 1, later)
        assert {answer.answer for answer in answers} == {"kept"}
        return [each["id"] for each in made]

    return say


def gone(minute):
    return {"kind": "hall", "what": "spotter-gone", "minute": minute}


def back(minute):
    return {"kind": "hall", "what": "spotter-back", "minute": minute}


def turn(cast, minute, **about):
    told = {"kind": "turn", "child": str(cast.mai.uuid), "surface": "sprung-dance-floor"}
    return {**told, "clean": True, "minute": minute, **HELD, **about}


def review(client, cast):
    return text_of(get(client, cast.petra, "/review"))


def test_a_held_turn_after_the_spotter_had_gone_is_told(cast, client, said):
    said(gone(1), turn(cast, 2))
    assert f"Mai Back walkover, hands-on Omar, Wed 4 Mar {TOLD}" in review(client, cast)
    # It is stored and counts as any other.
    assert Attempt.objects.get().flags == []


def test_one_before_the_spotter_went_is_not(cast, client, said):
    said(turn(cast, 1), gone(2))
    assert TOLD not in review(client, cast)


def test_one_after_the_spotter_was_back_is_not(cast, client, said):
    said(gone(1), back(2), turn(cast, 3))
    assert TOLD not in review(client, cast)


def test_one_after_the_spotter_had_gone_again_is(cast, client, said):
    said(gone(1), back(2), gone(3), turn(cast, 4))
    assert TOLD in review(client, cast)


@pytest.mark.parametrize("word_first", [True, False], ids=["word first", "turn first"])
def test_it_is_the_same_whichever_comes_in_first(cast, client, said, word_first):
    for line in [gone(1), turn(cast, 2)] if word_first else [turn(cast, 2), gone(1)]:
        said(line)
    assert TOLD in review(client, cast)


def test_a_turn_that_was_struck_is_not(cast, client, said):
    _gone, done = said(gone(1), turn(cast, 2))
    said({"kind": "strike", "turn": done, "code": "wrong-tap", "minute": 3})
    assert TOLD not in review(client, cast)


def test_what_nobody_holds_is_not(cast, client, said):
    said(gone(1), turn(cast, 2, drill="log-roll", support=0))
    assert TOLD not in review(client, cast)


def test_one_that_should_have_been_held_is_told_with_both(cast, client, said):
    said(gone(1), turn(cast, 2, support=0))
    assert f"less support than allowed, {TOLD}" in review(client, cast)


def test_the_spotter_of_another_class_is_another_one(cast, client, said):
    line = {"id": str(time_ordered_id(NOW)), "at": NOW.isoformat(), "kind": "hall"}
    other = cast.red.meetings.create(date=TODAY, starts_at=datetime.time(17))
    take_lines(other, cast.ines, "t", NOW, [line | {"what": "spotter-gone"}], 1, NOW)
    said(turn(cast, 2))
    assert TOLD not in review(client, cast)


def test_a_hundred_such_turns_cost_no_more_queries_than_one(cast, client, said):
    client.force_login(cast.petra)

    def queries() -> int:
        client.get("/review")
        with CaptureQueriesContext(connection) as asked:
            assert TOLD in client.get("/review").text
        return len(asked)

    said(gone(1), turn(cast, 2))
    one = queries()
    said(*[turn(cast, 3 + nth / 10) for nth in range(100)])
    assert queries() == one
