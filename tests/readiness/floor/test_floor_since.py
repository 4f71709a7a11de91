"""The call with which a tablet asks whether something has come that it must show at once."""

import datetime

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session

from readiness.models import Pain
from readiness.record.decisions import lift, pause
from readiness.record.intake import take_lines
from readiness.record.snapshots import child_snapshot
from readiness.record.standings import read
from studio.models import Meeting, MeetingVisit
from tests.support.cast import NOW, TODAY, time_ordered_id

MAT = "sprung-dance-floor"


def alerts(meeting):
    return Meeting.objects.get(pk=meeting.pk).alerts


def line(kind, nth=0, **about):
    return {"kind": kind, "id": str(time_ordered_id(NOW, nth)), "at": NOW.isoformat(), **about}


def turn(child, nth=0, **about):
    told = {"drill": "log-roll", "surface": MAT, "support": 0, "clean": True}
    return line("turn", nth, child=str(child.uuid), **(told | about))


def send(cast, *lines):
    answers = take_lines(cast.meeting, cast.omar, "tablet 3", NOW, lines, 1, NOW)
    assert {answer.answer for answer in answers} == {"kept"}


@pytest.fixture
def omar(client, cast):
    client.force_login(cast.omar)
    return client


def test_nothing_new_is_an_empty_answer(omar, cast):
    n = omar.get(f"/floor/{cast.meeting.uuid}/pack").json()["alerts"]
    answer = omar.get(f"/floor/{cast.meeting.uuid}/since?n={n}")
    assert (answer.status_code, answer.content) == (204, b"")


def test_a_stop_sign_is_news_for_whoever_has_an_older_pack(omar, cast):
    n = omar.get(f"/floor/{cast.meeting.uuid}/pack").json()["alerts"]
    send(cast, turn(cast.mai, clean=False, caught=True))
    answer = omar.get(f"/floor/{cast.meeting.uuid}/since?n={n}")
    assert (answer.status_code, answer.json()) == (200, {"n": n + 1})
    assert omar.get(f"/floor/{cast.meeting.uuid}/pack").json()["alerts"] == n + 1


@pytest.mark.parametrize("n", ["", "?n=", "?n=-1", "?n=1.5", "?n=two", "?n=²"])
def test_what_is_no_number_is_refused_in_a_sentence(omar, cast, n):
    answer = omar.get(f"/floor/{cast.meeting.uuid}/since{n}")
    assert answer.status_code == 400
    assert answer.json()["sentence"] == "This call could not be read."


@pytest.mark.parametrize("who", ["ines", "dora"])
def test_another_class_and_another_hall_get_not_found(client, cast, who):
    client.force_login(getattr(cast, who))
    assert client.get(f"/floor/{cast.meeting.uuid}/since?n=0").status_code == 404


def test_a_late_answer_does_not_delete_the_cookie_of_whoever_signed_in_since(omar, cast):
    Session.objects.all().delete()
    answer = omar.get(f"/floor/{cast.meeting.uuid}/since?n=0")
    assert answer.status_code == 401
    assert settings.SESSION_COOKIE_NAME not in answer.cookies


def test_turns_and_strikes_and_who_is_here_do_not_move_the_counter(cast):
    first = turn(cast.mai, clean=False)
    hold = turn(cast.mai, 2, drill="hollow-hold", clean=None, value=3)
    send(cast, first, turn(cast.ilse, 1), hold)
    send(cast, line("strike", 3, turn=first["id"], code="wrong-tap"))
    send(cast, line("here", 4, child=str(cast.mai.uuid), present=True))
    assert alerts(cast.meeting) == 0


# Of the ladder's faults: "second" is a stop sign from the second one on that day, "unheld" only
# without hands (common practice, no source).
def test_a_fault_moves_it_only_where_it_is_a_stop_sign(cast, ladder_content):
    by_stop = {fault["stop"]: fault["key"] for fault in ladder_content["fault"]}
    missed = {"clean": False, "drill": "back-walkover"}
    send(cast, turn(cast.mai, 1, faults=[by_stop["second"]], **missed))
    send(cast, turn(cast.mai, 2, faults=[by_stop["unheld"]], support=3, **missed))
    assert alerts(cast.meeting) == 0
    send(cast, turn(cast.mai, 3, faults=[by_stop["second"]], **missed))
    assert alerts(cast.meeting) == 1
    send(cast, turn(cast.ilse, 4, faults=[by_stop["unheld"]], support=0, **missed))
    send(cast, turn(cast.ilse, 5, faults=[by_stop["yes"]], **missed))
    assert alerts(cast.meeting) == 3


def test_a_stop_sign_that_is_struck_moves_it_again(cast):
    stop = turn(cast.mai, clean=False, caught=True)
    send(cast, stop)
    send(cast, line("strike", 1, turn=stop["id"], code="wrong-child"))
    assert alerts(cast.meeting) == 2


def test_pain_moves_it_and_so_does_taking_it_back(cast):
    hurt = line("hurt", child=str(cast.mai.uuid), place="wrist")
    send(cast, hurt)
    assert Pain.objects.count() == alerts(cast.meeting) == 1
    send(cast, line("strike", 1, turn=hurt["id"], code="wrong-child"))
    assert alerts(cast.meeting) == 2


def test_a_pause_from_the_childs_page_and_its_end_move_it_wherever_the_child_is(cast):
    visited = Meeting.objects.create(group=cast.red, date=TODAY, starts_at=datetime.time(19))
    other = Meeting.objects.create(group=cast.red, date=TODAY, starts_at=datetime.time(20))
    MeetingVisit.objects.create(meeting=visited, child=cast.mai, makes_up=True, by=cast.petra)
    pause(cast.mai, cast.omar, NOW, "A knock on the head.")
    assert [alerts(each) for each in (cast.meeting, visited, other)] == [1, 1, 0]
    later = NOW + datetime.timedelta(hours=1)
    shown = child_snapshot(read(cast.mai, TODAY))
    lift(cast.mai, cast.petra, shown, later, "The doctor says yes.")
    assert [alerts(each) for each in (cast.meeting, visited, other)] == [2, 2, 0]
