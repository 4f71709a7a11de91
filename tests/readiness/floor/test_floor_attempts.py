"""The call that the floor page sends its lines with: JSON in, JSON out, whatever happens."""

import datetime
import json
import threading
import uuid

import pytest
from django.db import OperationalError, close_old_connections, connection
from django.test import Client
from django.utils import timezone

from progression.models import Attempt, RejectedLine
from readiness.floor import views as floor_views
from readiness.floor.forms import MOST_BYTES
from studio.models import Attendance, Studio
from tests.support.cast import time_ordered_id

MAT = "sprung-dance-floor"


def turn(child, **about):
    now = timezone.now()
    return {
        "kind": "turn",
        "id": str(time_ordered_id(now)),
        "at": now.isoformat(),
        "child": str(child.uuid),
        "drill": "log-roll",
        "surface": MAT,
        "support": 0,
        "clean": True,
    } | about


def call_with(lines, **about):
    return {"v": 1, "device": "t", "sent_at": timezone.now().isoformat(), "lines": lines} | about


def post(client, cast, body, **headers):
    data = body if isinstance(body, bytes) else json.dumps(body)
    return client.post(
        f"/floor/{cast.meeting.uuid}/attempts", data, "application/json", headers=headers
    )


@pytest.fixture
def omar(client, cast):
    client.force_login(cast.omar)
    return client


def test_lines_are_answered_after_the_commit_in_the_order_sent(omar, cast):
    lines = [turn(cast.mai), turn(cast.rosa), turn(cast.ilse, drill="no-such-drill")]
    response = post(omar, cast, call_with(lines))
    assert response.status_code == 200
    data = response.json()
    assert data["v"] == 3
    assert data["log"] == str(Studio.objects.get().log)
    assert datetime.datetime.fromisoformat(data["now"]).tzinfo is not None
    assert data["lines"] == [
        {"id": lines[0]["id"], "answer": "kept", "code": ""},
        {"id": lines[1]["id"], "answer": "refused", "code": "not-in-class"},
        {"id": lines[2]["id"], "answer": "refused", "code": "unknown-drill"},
    ]
    assert Attempt.objects.count() == 1
    assert RejectedLine.objects.count() == 2


def test_the_identical_body_sent_twice_stores_one_turn(omar, cast):
    body = call_with([turn(cast.mai)])
    assert post(omar, cast, body).json()["lines"][0]["answer"] == "kept"
    assert post(omar, cast, body).json()["lines"][0]["answer"] == "had"
    assert Attempt.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_the_identical_body_sent_at_once_from_two_threads_stores_one_turn(cast):
    body = call_with([turn(cast.mai)])
    answers = []

    def send():
        client = Client()
        client.force_login(cast.omar)
        response = post(client, cast, body)
        answers.append((response.status_code, response.json()["lines"][0]["answer"]))
        close_old_connections()
        connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [(200, "had"), (200, "kept")]
    assert Attempt.objects.count() == 1


def test_the_same_id_with_other_content_is_answered_and_both_stay_readable(omar, cast):
    line = turn(cast.mai)
    post(omar, cast, call_with([line]))
    answer = post(omar, cast, call_with([line | {"clean": False}])).json()["lines"][0]
    assert answer == {"id": line["id"], "answer": "differs", "code": "other-content"}
    assert Attempt.objects.get().clean is True
    assert json.loads(RejectedLine.objects.get().body)["clean"] is False


def test_a_newer_form_is_set_aside_in_full_and_answered_line_by_line(omar, cast):
    response = post(omar, cast, call_with([turn(cast.mai)], v=4))
    assert response.status_code == 200
    assert response.json()["lines"][0]["code"] == "newer-version"
    assert Attempt.objects.count() == 0
    assert RejectedLine.objects.count() == 1


def test_every_kind_of_line_is_taken(omar, cast):
    first = turn(cast.mai)
    now = {"at": timezone.now().isoformat()}
    lines = [
        first,
        now | {"kind": "strike", "id": str(time_ordered_id(timezone.now(), 1)),
               "turn": first["id"], "code": "wrong-tap"},
        now | {"kind": "here", "id": str(time_ordered_id(timezone.now(), 2)),
               "child": str(cast.mai.uuid), "present": True},
        now | {"kind": "hurt", "id": str(time_ordered_id(timezone.now(), 3)),
               "child": str(cast.mai.uuid), "place": "wrist"},
        now | {"kind": "gone", "id": str(time_ordered_id(timezone.now(), 4)),
               "child": str(cast.mai.uuid), "place": "knee"},
        now | {"kind": "told", "id": str(time_ordered_id(timezone.now(), 5)),
               "child": str(cast.mai.uuid), "what": "wrist", "whom": "guardian-phone"},
        now | {"kind": "growing", "id": str(time_ordered_id(timezone.now(), 6)),
               "child": str(cast.mai.uuid)},
    ]  # fmt: skip
    answers = post(omar, cast, call_with(lines)).json()["lines"]
    assert [answer["answer"] for answer in answers] == ["kept"] * 7
    assert Attendance.objects.get().present is True


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"no json",
        b"[]",
        b'{"v": 1}',
        b'{"v": NaN, "device": "t", "sent_at": "2026-03-04T17:00:00Z", "lines": []}',
        b"\xff\xfe",
        b"[" * 5000,
    ],
)
def test_a_body_that_cannot_be_read_gets_400_and_stores_nothing(omar, cast, body):
    response = post(omar, cast, body)
    assert response.status_code == 400
    assert response.json()["error"] == "unreadable"
    assert RejectedLine.objects.count() == 0


@pytest.mark.parametrize(
    "about",
    [
        {"v": "1"},
        {"v": 0},
        {"v": True},
        {"v": None},
        {"device": "t" * 61},
        {"device": 3},
        {"sent_at": "yesterday"},
        {"sent_at": "2026-03-04T17:00:00"},
        {"sent_at": "9999-12-31T23:59:59Z"},
        {"sent_at": None},
        {"lines": {}},
        {"lines": ["a line"]},
        {"lines": [{"kind": "turn"}]},
        {"lines": [{"id": 3}]},
    ],
)
def test_a_call_that_is_not_of_the_agreed_form_gets_400_and_stores_nothing(omar, cast, about):
    response = post(omar, cast, call_with([turn(cast.mai)]) | about)
    assert response.status_code == 400
    assert response.json()["error"] == "unreadable"
    assert Attempt.objects.count() == 0


def test_200_lines_are_taken_and_201_are_too_many(omar, cast):
    lines = [turn(cast.mai) for _ in range(201)]
    too_many = post(omar, cast, call_with(lines))
    assert too_many.status_code == 413
    assert too_many.json()["error"] == "too-many"
    assert Attempt.objects.count() == 0
    assert post(omar, cast, call_with(lines[:200])).status_code == 200
    assert Attempt.objects.count() == 200


def test_a_body_larger_than_a_call_may_be_gets_413(omar, cast):
    response = post(omar, cast, call_with([turn(cast.mai, page="x" * MOST_BYTES)]))
    assert response.status_code == 413
    assert response.json()["error"] == "refused-body"
    assert Attempt.objects.count() == 0


def test_a_busy_database_gets_503_and_the_same_call_is_taken_later(omar, cast, monkeypatch):
    def locked(*args, **more):
        raise OperationalError("database is locked")

    body = call_with([turn(cast.mai)])
    with monkeypatch.context() as patched:
        patched.setattr(floor_views, "take_lines", locked)
        response = post(omar, cast, body)
    assert response.status_code == 503
    assert response.json()["error"] == "busy"
    assert response["Retry-After"] == "5"
    assert Attempt.objects.count() == 0
    assert post(omar, cast, body).json()["lines"][0]["answer"] == "kept"


def test_signed_out_it_answers_401_as_json_and_never_redirects(client, cast):
    response = post(client, cast, call_with([turn(cast.mai)]))
    assert response.status_code == 401
    assert response.json()["error"] == "sign-in"
    assert Attempt.objects.count() == 0


@pytest.mark.parametrize("headers", [{}, {"X-CSRFToken": "x" * 32}])
def test_without_a_good_token_it_answers_403_as_json(cast, headers):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.omar)
    response = post(client, cast, call_with([turn(cast.mai)]), **headers)
    assert response.status_code == 403
    assert response.json()["error"] == "stale-token"
    assert Attempt.objects.count() == 0


def test_a_token_made_stale_by_a_new_sign_in_is_refused_and_the_new_one_taken(cast):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.omar)
    client.get(f"/floor/{cast.meeting.uuid}/pack")
    old = client.cookies["csrftoken"].value
    del client.cookies["csrftoken"]
    client.get(f"/floor/{cast.meeting.uuid}/pack")
    new = client.cookies["csrftoken"].value
    body = call_with([turn(cast.mai)])
    assert post(client, cast, body, **{"X-CSRFToken": old}).status_code == 403
    assert Attempt.objects.count() == 0
    assert post(client, cast, body, **{"X-CSRFToken": new}).status_code == 200
    assert Attempt.objects.count() == 1


@pytest.mark.parametrize("who", ["ines", "dora"])
def test_another_class_and_another_hall_get_404_and_nothing_is_stored(client, cast, who):
    client.force_login(getattr(cast, who))
    response = post(client, cast, call_with([turn(cast.mai)]))
    assert response.status_code == 404
    assert response.json()["error"] == "not-found"
    assert Attempt.objects.count() == 0
    assert RejectedLine.objects.count() == 0


def test_a_meeting_that_is_not_there_gets_404(omar, cast):
    response = omar.post(
        f"/floor/{uuid.uuid4()}/attempts", json.dumps(call_with([])), "application/json"
    )
    assert response.status_code == 404
    assert response.json()["error"] == "not-found"


def test_it_is_not_there_to_be_read(omar, cast):
    assert omar.get(f"/floor/{cast.meeting.uuid}/attempts").status_code == 405


def test_an_assistant_logs_ungraded_turns_and_gives_no_grades(client, cast):
    client.force_login(cast.tam)
    grade = turn(cast.mai, drill="sit-depth", value=2)
    del grade["clean"]
    answers = post(client, cast, call_with([turn(cast.mai), grade])).json()["lines"]
    assert [answer["code"] for answer in answers] == ["", "may-not-grade"]
    assert Attempt.objects.get().graded is False


def test_lines_of_the_page_that_sends_are_placed_by_its_monotonic_clock(omar, cast):
    now = timezone.now()
    minutes = [8, 6, 4, 2]
    # By the tablet's clock: three hours fast, right, three hours slow, right.
    hours = [3, 0, -3, 0]
    lines = []
    for before, ahead in zip(minutes, hours, strict=True):
        at = now - datetime.timedelta(minutes=before) + datetime.timedelta(hours=ahead)
        mono = 1_000_000 - before * 60_000
        lines.append(turn(cast.mai, at=at.isoformat(), page="p1", mono=mono))
    body = call_with(lines, sent_at=now.isoformat(), page="p1", mono=1_000_000)
    answers = post(omar, cast, body).json()["lines"]
    assert [line["answer"] for line in answers] == ["kept"] * 4
    stored = Attempt.objects.order_by("done_at")
    assert [str(one.id) for one in stored] == [line["id"] for line in lines]
    for one, before in zip(stored, minutes, strict=True):
        late = now - datetime.timedelta(minutes=before)
        assert datetime.timedelta() <= one.done_at - late < datetime.timedelta(seconds=20)


def test_another_page_s_monotonic_clock_says_nothing_of_these_lines(omar, cast):
    now = timezone.now()
    at = now - datetime.timedelta(minutes=30)
    line = turn(cast.mai, at=at.isoformat(), page="p1", mono=5)
    body = call_with([line], sent_at=now.isoformat(), page="p2", mono=10**9)
    assert post(omar, cast, body).json()["lines"][0]["answer"] == "kept"
    late = Attempt.objects.get().done_at - at
    assert datetime.timedelta() <= late < datetime.timedelta(seconds=20)
