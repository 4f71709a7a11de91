"""What a director makes of a refused line: logged after all, or struck. Nothing is deleted."""

import datetime
import json

import pytest
import time_machine
from django.db import IntegrityError, transaction

from progression.models import Attempt, AttemptProof, LineResolution, RejectedLine, Strike
from readiness.floor.pack import build_pack
from readiness.record.intake import take_lines
from studio.models import Meeting
from studio.people import class_lists
from tests.support.cast import NOW, TODAY, time_ordered_id

MAT = "sprung-dance-floor"


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


def turn(child, nth=0, **about):
    line = {
        "kind": "turn",
        "id": str(time_ordered_id(NOW, nth)),
        "at": NOW.isoformat(),
        "child": str(child.uuid),
        "drill": "log-roll",
        "surface": MAT,
        "support": 3,
        "clean": True,
    }
    return line | about


def send(cast, *lines, meeting=None):
    about = "tablet 3", NOW, lines, 3, NOW
    return [each.answer for each in take_lines(meeting or cast.meeting, cast.omar, *about)]


@pytest.fixture
def refused(cast):
    """Omar tapped Rosa, who is of the red class, at the blue one."""
    assert send(cast, turn(cast.rosa)) == ["refused"]
    return RejectedLine.objects.get()


@pytest.fixture
def red(cast):
    return Meeting.objects.create(group=cast.red, date=TODAY, starts_at=datetime.time(19))


@pytest.fixture
def petra(client, cast):
    client.force_login(cast.petra)
    return client


def log_for(client, line, meeting, child):
    return client.post(f"/refused-lines/{line.uuid}/log", {"to": f"{meeting.uuid} {child.uuid}"})


def test_from_review_a_director_reads_what_who_when_and_why(petra, cast, refused):
    assert "/refused-lines" in petra.get("/review").content.decode()
    assert f"/refused-lines/{refused.uuid}" in petra.get("/refused-lines").content.decode()
    page = petra.get(f"/refused-lines/{refused.uuid}").content.decode()
    for shown in (
        cast.rosa.name,
        "Hollow-arch log roll",
        "clean",
        "Tapped by Omar",
        "4 Mar 2026, 18:00",
    ):
        assert shown in page
    assert "the child is not in this class" in page


def test_a_child_whom_one_does_not_see_is_not_named(petra, cast, refused):
    RejectedLine.objects.update(body=json.dumps(turn(cast.mai) | {"child": str(cast.meeting.uuid)}))
    page = petra.get(f"/refused-lines/{refused.uuid}").content.decode()
    assert "a child whom you do not see" in page


def test_in_the_childs_own_class_it_is_logged_under_its_author_who_is_asked(
    petra, cast, refused, red
):
    answer = log_for(petra, refused, red, cast.rosa)
    assert (answer.status_code, answer["Location"]) == (302, "/refused-lines")
    logged = Attempt.objects.get()
    assert (logged.child, logged.meeting, logged.author) == (cast.rosa, red, cast.omar)
    assert (logged.sender, str(logged.pk)) == (cast.petra, refused.line_id)
    # No director grades for a coach: the turn waits for Omar's own word.
    assert not logged.graded
    assert logged.proof.awaits == AttemptProof.Awaits.AUTHOR
    assert RejectedLine.objects.get() == refused
    assert "logged after all by Petra" in petra.get("/refused-lines").content.decode()
    assert "could not be taken" not in petra.get("/review").content.decode()


def test_it_can_be_another_child_of_the_same_class(petra, cast, refused):
    log_for(petra, refused, cast.meeting, cast.mai)
    assert Attempt.objects.get().child == cast.mai


def test_once_resolved_it_is_not_resolved_again(petra, cast, refused, red):
    log_for(petra, refused, red, cast.rosa)
    again = log_for(petra, refused, cast.meeting, cast.mai)
    assert again.status_code == 409
    assert "Somebody has resolved it already." in again.content.decode()
    struck = petra.post(f"/refused-lines/{refused.uuid}/strike", {"reason": "A trial."})
    assert struck.status_code == 409
    assert Attempt.objects.count() == LineResolution.objects.count() == 1


def test_where_the_log_refuses_it_again_nothing_changes_and_the_reason_is_said(
    petra, cast, refused
):
    RejectedLine.objects.update(body=json.dumps(turn(cast.rosa, drill="of-no-ladder")))
    answer = log_for(petra, refused, cast.meeting, cast.mai)
    assert answer.status_code == 409
    assert "the ladder has no such drill" in answer.content.decode()
    counted = Attempt.objects.count(), LineResolution.objects.count(), RejectedLine.objects.count()
    assert counted == (0, 0, 1)


@pytest.mark.parametrize("to", ["", "x", "00000000-0000-0000-0000-000000000000"])
def test_a_child_who_is_not_in_the_list_is_refused(petra, refused, to):
    answer = petra.post(f"/refused-lines/{refused.uuid}/log", {"to": to})
    assert answer.status_code == 422
    assert not LineResolution.objects.exists()


def test_struck_it_counts_for_nothing_and_keeps_the_reason(petra, cast, refused):
    answer = petra.post(f"/refused-lines/{refused.uuid}/strike", {"reason": " "})
    assert (answer.status_code, LineResolution.objects.count()) == (422, 0)
    assert "Say why." in answer.content.decode()
    petra.post(f"/refused-lines/{refused.uuid}/strike", {"reason": "A dummy run."})
    assert "struck by Petra" in petra.get("/refused-lines").content.decode()
    assert "A dummy run." in petra.get(f"/refused-lines/{refused.uuid}").content.decode()
    assert not Attempt.objects.exists()


def test_a_struck_line_has_a_reason_in_the_database_too(cast, refused):
    with pytest.raises(IntegrityError), transaction.atomic():
        LineResolution.objects.create(line=refused, logged=False, by=cast.petra, at=NOW)


def test_the_tablet_is_told_and_its_own_strike_takes_the_logged_turn_back(
    petra, cast, refused, red
):
    log_for(petra, refused, red, cast.rosa)
    assert json.loads(build_pack(cast.meeting, cast.omar, NOW))["resolved"] == [refused.line_id]
    strike = {"kind": "strike", "turn": refused.line_id, "code": "other"}
    sent = send(cast, strike | {"id": str(time_ordered_id(NOW, 5)), "at": NOW.isoformat()})
    assert (sent, Strike.objects.count()) == (["kept"], 1)


def test_a_line_of_no_class_here_is_shown_to_the_senders_director(petra, client, cast, refused):
    RejectedLine.objects.update(meeting=None, code="other-server")
    assert log_for(petra, refused, cast.meeting, cast.mai).status_code == 302
    client.force_login(cast.dora)
    assert client.get(f"/refused-lines/{refused.uuid}").status_code == 404


@pytest.mark.parametrize("body", ["", "[]", "{", '{"kind": 3, "child": 4}', '{"value": "x"}'])
def test_a_line_that_cannot_be_read_can_only_be_struck(petra, refused, body):
    RejectedLine.objects.update(body=body)
    page = petra.get(f"/refused-lines/{refused.uuid}").content.decode()
    assert "an entry that cannot be read" in page
    assert "Log it after all" not in page


def test_a_child_who_has_just_moved_is_the_same_child_wherever_she_is(cast):
    class_lists.leave(cast.ilse, cast.blue, TODAY - datetime.timedelta(days=3))
    class_lists.join(cast.ilse, cast.red, TODAY - datetime.timedelta(days=3))
    assert send(cast, turn(cast.ilse)) == ["kept"]


def test_a_child_who_left_the_class_long_ago_is_not_of_it(cast):
    class_lists.leave(cast.ilse, cast.blue, TODAY - datetime.timedelta(days=31))
    assert send(cast, turn(cast.ilse)) == ["refused"]
