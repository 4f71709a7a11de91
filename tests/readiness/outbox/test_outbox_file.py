"""The page “Bring in a tablet’s file”."""

import datetime
import json
import re
import uuid

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, OperationalError
from django.test import Client

from progression.log.pack_token import make_token
from progression.models import Attempt, RejectedLine
from readiness.models import DayTally
from studio.models import Attendance, Meeting, Staff
from tests.support.cast import NOW, TODAY, Cast, make_child, time_ordered_id
from tests.support.pages import signed_in

DEVICE = "tablet-7"

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today():
    with time_machine.travel(NOW + datetime.timedelta(days=2), tick=False):
        yield


@pytest.fixture
def petra(cast: Cast) -> Client:
    return signed_in(cast.petra)


def record(meeting: Meeting, author: Staff, child, n: int = 0, **about) -> dict:
    at = NOW + datetime.timedelta(minutes=n)
    line = {
        "kind": "turn",
        "id": str(time_ordered_id(at, n)),
        "at": at.isoformat(),
        "by": str(author.uuid),
        "pack": make_token(str(author.uuid), DEVICE, str(meeting.uuid)),
        "child": str(child.uuid),
        "drill": "back-walkover",
        "surface": "sprung-dance-floor",
        "support": 1,
        "clean": True,
    } | about
    return {"meeting": str(meeting.uuid), "author": str(author.uuid), "line": line}


def saved(*records, **about) -> str:
    return json.dumps({"v": 2, "device": DEVICE, "saved_at": NOW.isoformat(),
                       "records": records} | about)  # fmt: skip


def bring(client: Client, text: str | bytes):
    data = text if isinstance(text, bytes) else text.encode()
    return client.post("/outbox-file", {"file": SimpleUploadedFile("tablet.json", data)})


def page_after(client: Client, text: str | bytes) -> str:
    answer = bring(client, text)
    assert (answer.status_code, answer["Location"]) == (302, "/outbox-file")
    return client.get("/outbox-file").content.decode()


def cells(page: str) -> list[str]:
    body = page.split("<tbody>")[1].split("</tbody>")[0]
    return [part.split(">", 1)[1].split("</td>")[0] for part in body.split("<td")[1:]]


def test_each_entry_is_stored_once_under_its_author(petra, cast):
    file = saved(*(record(cast.meeting, cast.omar, cast.mai, n) for n in range(3)))
    assert cells(page_after(petra, file)) == [
        "Blue, 4 Mar 2026, 17:30", "3", "0", "0", '<span class="soft">nothing</span>'
    ]  # fmt: skip
    stored = Attempt.objects.all()
    assert {(a.author, a.sender, a.graded, a.day) for a in stored} == {
        (cast.omar, cast.petra, True, TODAY)
    }
    assert sum(DayTally.objects.values_list("turns", flat=True)) == 3


def test_the_same_file_again_changes_nothing(petra, cast):
    file = saved(record(cast.meeting, cast.omar, cast.mai),
                 record(cast.meeting, cast.omar, cast.rosa, 1))  # fmt: skip
    page_after(petra, file)
    assert cells(page_after(petra, file))[1:4] == ["0", "1", "1"]
    assert Attempt.objects.count() == 1
    assert RejectedLine.objects.count() == 1


def test_what_the_tablet_sends_itself_later_is_had(petra, cast):
    one = record(cast.meeting, cast.omar, cast.mai)
    page_after(petra, saved(one))
    body = {"v": 2, "device": DEVICE, "sent_at": NOW.isoformat(), "lines": [one["line"]]}
    call = signed_in(cast.omar).post(
        f"/floor/{cast.meeting.uuid}/attempts", json.dumps(body), "application/json"
    )
    assert [each["answer"] for each in call.json()["lines"]] == ["had"]


def test_without_the_token_of_the_pack_it_is_only_said_to_be_theirs(petra, cast):
    for n, device in enumerate((DEVICE, "tablet-8")):
        one = record(cast.meeting, cast.omar, cast.mai, n)
        if device == DEVICE:
            del one["line"]["pack"]
        page_after(petra, saved(one, device=device))
    stored = Attempt.objects.all()
    assert {(a.author, a.graded, a.flags[0]) for a in stored} == {
        (cast.omar, False, "said-to-be-by")
    }


def test_a_line_that_does_not_say_it_is_by_whom_the_file_says(petra, cast):
    one = record(cast.meeting, cast.omar, cast.mai)
    del one["line"]["by"]
    page_after(petra, saved(one))
    assert Attempt.objects.get().author == cast.omar
    lost = record(cast.meeting, cast.omar, cast.mai, 1) | {"author": str(uuid.uuid4())}
    del lost["line"]["by"]
    assert cells(page_after(petra, saved(lost)))[3] == "1"


def test_what_cannot_be_taken_is_set_aside_with_its_reason_and_holds_up_nothing(petra, cast):
    file = saved(
        record(cast.meeting, cast.omar, cast.mai),
        record(cast.meeting, cast.omar, cast.rosa, 1),
        record(cast.meeting, cast.omar, cast.mai, 2, drill="no-such-drill"),
        record(cast.meeting, cast.omar, cast.mai, 3, kind="?"),
    )
    _, kept, had, aside, why = cells(page_after(petra, file))
    assert (kept, had, aside) == ("1", "0", "3")
    assert "1 entry: the child is not in this class" in why
    assert "1 entry: the ladder has no such drill" in why
    assert "1 entry: it has a form that cannot be read" in why
    assert Attempt.objects.count() == 1
    assert RejectedLine.objects.count() == 3


def test_classes_that_are_not_among_ones_own_are_left_and_told(cast):
    far = Meeting.objects.create(group=cast.far, date=TODAY, starts_at=cast.far.starts_at)
    nele = make_child("Nele Holm", cast.far)
    file = saved(
        record(cast.meeting, cast.omar, cast.mai),
        record(far, cast.ines, nele, 1),
        record(Meeting(group=cast.far), cast.ines, nele, 2),
    )
    page = page_after(signed_in(cast.petra), file)
    assert "2 entries are of classes that are not among yours" in page
    assert not re.search(r"\bFar\b", page)
    assert [attempt.child for attempt in Attempt.objects.all()] == [cast.mai]
    assert not RejectedLine.objects.exists()
    # The director of the other hall brings the same file in.
    assert "Far, 4 Mar 2026" in page_after(signed_in(cast.dora), file)
    assert Attempt.objects.count() == 2


@pytest.mark.parametrize("busy", [OperationalError("database is locked"), IntegrityError("twice")])
def test_a_busy_database_is_told_and_the_file_can_be_brought_in_again(
    petra, cast, monkeypatch, busy
):
    def locked(*args: object, **kwargs: object) -> None:
        raise busy

    file = saved(record(cast.meeting, cast.omar, cast.mai))
    with monkeypatch.context() as patched:
        patched.setattr("readiness.outbox.file.take_lines", locked)
        answer = bring(petra, file)
    assert answer.status_code == 503
    assert "The server is busy. Bring the file in again" in answer.content.decode()
    assert not Attempt.objects.exists()
    page_after(petra, file)
    assert Attempt.objects.count() == 1


def test_nobody_else_sees_what_became_of_it(petra, cast):
    page_after(petra, saved(record(cast.meeting, cast.omar, cast.mai)))
    assert "The last file" not in signed_in(cast.luis).get("/outbox-file").content.decode()
    petra.post("/sign-out")
    petra.force_login(cast.dora)
    assert "The last file" not in petra.get("/outbox-file").content.decode()


@pytest.mark.parametrize(
    ("offset", "late"), [(-3 * 3600_000, datetime.timedelta(hours=3)), (0, datetime.timedelta())]
)
def test_the_time_is_put_right_by_how_far_the_tablet_s_clock_was_out(petra, cast, offset, late):
    done = NOW + datetime.timedelta(minutes=5)
    shown = (done + late).isoformat()
    page_after(petra, saved(record(cast.meeting, cast.omar, cast.mai, at=shown), offset=offset))
    stored = Attempt.objects.get()
    assert (stored.done_at, stored.day) == (done, TODAY)
    assert "clock" not in stored.flags


def test_more_lines_than_fit_into_one_call_are_taken(petra, cast):
    children = [cast.mai, cast.ilse]
    file = saved(*(
        record(cast.meeting, cast.omar, children[n % 2], n, kind="here", present=True)
        for n in range(450)
    ))  # fmt: skip
    assert cells(page_after(petra, file))[1] == "450"
    assert Attendance.objects.count() == 450


GOOD = {"meeting": str(uuid.uuid4()), "author": str(uuid.uuid4()), "line": {"id": "x"}}


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (b"\xff\xfe\x00", "not a file saved from a tablet"),
        ("", "line 1, letter 1"),
        ('{"v": 2,\n "records": [', "line 2, letter 14"),
        ('{"v": NaN}', "not a file saved from a tablet"),
        ("[" * 100_000, "not a file saved from a tablet"),
        ("[]", "it has no entries"),
        (saved(GOOD, v="2"), "it names no version"),
        (saved(GOOD, v=4), "newer than this server"),
        (saved(GOOD, device=""), "which tablet"),
        (saved(GOOD, device="x" * 61), "which tablet"),
        (saved(GOOD, offset="3"), "clock is out"),
        (saved(GOOD, offset=10**15), "clock is out"),
        (saved(), "no entry in this file"),
        (saved(GOOD, 3), "Entry 2 is no entry"),
        (saved(GOOD, GOOD | {"line": []}), "Entry 2 has no line"),
        (saved(GOOD, GOOD | {"line": {"id": 4}}), "Entry 2 has no line"),
        (saved(GOOD | {"meeting": "x"}), "Entry 1 does not say of which class"),
        (saved(GOOD, GOOD, GOOD | {"author": None}), "Entry 3 does not say who"),
    ],
    ids=range(18),
)
def test_a_wrong_file_is_told_what_is_wrong_and_where_and_changes_nothing(
    petra, cast, text, sentence
):
    good = record(cast.meeting, cast.omar, cast.mai)
    if isinstance(text, str) and '"id": "x"' in text:
        text = text.replace(json.dumps(GOOD), json.dumps(good), 1)
    answer = bring(petra, text)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Attempt.objects.exists()
    assert not RejectedLine.objects.exists()


def test_no_file_is_asked_for_again(petra):
    assert petra.post("/outbox-file", {"file": ""}).status_code == 422


def test_a_file_of_more_than_5_mb_is_refused_and_changes_nothing(petra, cast):
    text = saved(record(cast.meeting, cast.omar, cast.mai))
    answer = bring(petra, text + " " * (5 * 1024 * 1024))
    assert answer.status_code == 422
    assert "larger than 5 MB" in answer.content.decode()
    assert not Attempt.objects.exists()


def test_what_a_file_says_of_itself_does_not_get_into_the_log(petra, cast, caplog):
    with caplog.at_level("INFO"):
        page_after(petra, saved(record(cast.meeting, cast.omar, cast.mai), device="x\nforged"))
    assert [r.name for r in caplog.records] == ["ladder.intake", "ladder.outbox"]
    assert "forged" not in caplog.text


@pytest.mark.parametrize("address", ["/paper", "/review"])
def test_the_pages_beside_it_lead_to_it(petra, cast, address):
    lost = record(cast.meeting, cast.omar, cast.mai, drill="no-such-drill")
    page_after(petra, saved(lost))
    main = petra.get(address).content.decode().split("<main")[1]
    assert 'href="/outbox-file"' in main
