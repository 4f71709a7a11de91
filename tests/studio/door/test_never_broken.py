"""Requests that once were answered with 500: each is refused with a sentence, or taken.

tests/attack/fuzz.py looks for more of their kind.
"""

import json
import uuid
from urllib.parse import urlencode

import pytest
import time_machine
from django.test import Client

from progression.models import Attempt, RejectedLine
from readiness.models import Pause
from studio.models import ImportDraft
from tests.support.cast import Cast, time_ordered_id
from tests.support.every_page import EVENING, build


@pytest.fixture
def site(cast, log):
    with time_machine.travel(EVENING, tick=False):
        yield build(cast, log)


def as_(staff) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(staff)
    return client


def floor_call(cast: Cast, **about: object) -> dict[str, object]:
    line = {
        "kind": "turn",
        "id": str(time_ordered_id(EVENING, 1)),
        "at": EVENING.isoformat(),
        "child": str(cast.mai.uuid),
        "drill": "back-walkover",
        "surface": "sprung-dance-floor",
        "support": 3,
        "clean": True,
        **about,
    }
    return {"v": 2, "device": "t", "sent_at": EVENING.isoformat(), "lines": [line]}


def test_a_line_whose_token_holds_half_a_character_is_taken_as_one_without_a_token(site):
    cast = site.cast
    call = floor_call(cast, by=str(cast.omar.uuid), pack="\ud800.x")
    answer = as_(cast.petra).post(
        f"/floor/{cast.meeting.uuid}/attempts", json.dumps(call), "application/json"
    )
    assert answer.status_code == 200
    assert [line["answer"] for line in answer.json()["lines"]] == ["kept"]
    assert not Attempt.objects.get(pk=call["lines"][0]["id"]).graded


@pytest.mark.parametrize(
    ("name", "value"),
    [("answer-" + "9" * 5000, "new"), ("answer-3", "a\0b"), ("answer-3", "x" * 201)],
)
def test_an_answer_that_was_never_offered_is_left_out(site, name, value):
    draft = site.drafts["roster-new"]
    # As a plain form: the names of files' parts may not be as long.
    body = urlencode({name: value})
    plain = "application/x-www-form-urlencoded"
    answer = as_(site.cast.petra).post(f"/roster/{draft}/options", body, plain)
    assert answer.status_code == 302
    assert ImportDraft.objects.get(uuid=draft).options["choices"] == {}


@pytest.mark.parametrize("header", ["HX-Current-URL", "Referer"])
def test_a_page_address_that_is_none_leads_to_the_sign_in(db, header):
    headers = {header: "http://[::1", "HX-Request": "true" if header[0] == "H" else "false"}
    answer = Client(raise_request_exception=False).post("/halls/confirm", headers=headers)
    assert answer.status_code in (302, 401)


def test_a_session_that_nobody_was_given_is_nobody_s(db):
    answer = Client(raise_request_exception=False).get(
        "/", HTTP_COOKIE=r'sessionid="\000\000\000\000\000\000\000\000"'
    )
    assert answer.status_code == 302


def pause(client: Client, child, token: str) -> int:
    about = {"token": token, "reason": "Fever"}
    return client.post(f"/children/{child.uuid}/pause", about).status_code


def test_a_spent_token_is_good_for_nobody_else_and_for_no_other_child(site):
    cast, token, before = site.cast, str(uuid.uuid4()), Pause.objects.count()
    assert pause(as_(cast.omar), cast.mai, token) == 302
    assert pause(as_(cast.omar), cast.mai, token) == 302
    assert pause(as_(cast.petra), cast.mai, token) == 400
    assert pause(as_(cast.petra), cast.rosa, token) == 400
    assert pause(as_(cast.omar), cast.ilse, token) == 400
    assert Pause.objects.count() == before + 1
    assert RejectedLine.objects.get() == site.refused
