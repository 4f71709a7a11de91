"""Notes: by their own call, stored once, read on the child's page, erased after 13 months."""

import datetime
import json
import uuid
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command

from readiness.models import Note
from readiness.notes.keeping import oldest_kept, ready_notes
from tests.support.cast import NOW, TODAY
from tests.support.pages import get, text_of

pytestmark = pytest.mark.usefixtures("_at_now")


@pytest.fixture
def _at_now():
    with time_machine.travel(NOW, tick=False):
        yield


def note(child, text="tired", **more):
    return {"id": str(uuid.uuid4()), "child": str(child.uuid), "turn": None, "text": text} | more


def send(client, cast, notes, by=None):
    client.force_login(by or cast.omar)
    address = f"/floor/{cast.meeting.uuid}/notes"
    return client.post(address, json.dumps({"notes": notes}), content_type="application/json")


def test_a_note_sent_twice_is_kept_once_and_stands_on_the_childs_page(cast, client):
    one = note(cast.mai, "  asked  for\thands ", turn=str(uuid.uuid4()))
    for _each in range(2):
        assert send(client, cast, [one], cast.tam).json() == {"kept": [one["id"]], "refused": []}
    kept = Note.objects.get()
    assert (kept.child, kept.text, kept.by, kept.day) == (
        cast.mai,
        "asked for hands",
        cast.tam,
        TODAY,
    )
    assert str(kept.turn) == one["turn"]
    words = text_of(get(client, cast.omar, f"/children/{cast.mai.uuid}"))
    assert "Seen in class asked for hands on a turn" in words
    assert "Families may read these." in words


def test_a_note_on_a_child_of_another_class_is_not_kept_and_the_others_are(cast, client):
    here, elsewhere = note(cast.mai), note(cast.rosa)
    answer = send(client, cast, [elsewhere, here]).json()
    assert answer == {"kept": [here["id"]], "refused": [elsewhere["id"]]}
    assert Note.objects.get().child == cast.mai


@pytest.mark.parametrize(
    "wrong",
    [{"text": " "}, {"text": "x" * 201}, {"text": 3}, {"id": "7"}, {"child": None, "id": None}],
)
def test_what_cannot_be_read_is_said_and_keeps_nothing(cast, client, wrong):
    answer = send(client, cast, [note(cast.mai), note(cast.mai) | wrong])
    assert answer.status_code == 400
    assert answer.json()["sentence"] == "These notes could not be read."
    assert Note.objects.count() == 0


def test_another_class_and_signed_out_keep_nothing(cast, client):
    assert send(client, cast, [note(cast.mai)], cast.ines).status_code == 404
    client.logout()
    assert client.post(f"/floor/{cast.meeting.uuid}/notes").status_code == 401
    assert Note.objects.count() == 0


def old_note(cast, day):
    about = {"child": cast.mai, "meeting": cast.meeting, "by": cast.omar, "received_at": NOW}
    return Note.objects.create(id=uuid.uuid4(), text="new shoes", day=day, **about)


@pytest.mark.parametrize(
    ("today", "oldest"),
    [
        (datetime.date(2026, 3, 4), datetime.date(2025, 2, 4)),
        # No such day that month: its last one.
        (datetime.date(2026, 3, 31), datetime.date(2025, 2, 28)),
        (datetime.date(2026, 1, 15), datetime.date(2024, 12, 15)),
    ],
)
def test_thirteen_months_are_counted_by_the_calendar(today, oldest):
    assert oldest_kept(today) == oldest


def test_after_13_months_a_note_is_not_shown_and_is_erased(cast, client):
    last = old_note(cast, oldest_kept(TODAY))
    old_note(cast, oldest_kept(TODAY) - datetime.timedelta(days=1))
    assert text_of(get(client, cast.omar, f"/children/{cast.mai.uuid}")).count("new shoes") == 1
    printed = StringIO()
    call_command("purge_notes", stdout=printed)
    assert printed.getvalue() == "Notes erased: 1.\n"
    assert Note.objects.get() == last


def test_each_note_that_comes_in_erases_those_that_are_too_old(cast, client):
    old_note(cast, oldest_kept(TODAY) - datetime.timedelta(days=1))
    send(client, cast, [note(cast.mai)])
    assert Note.objects.get().text == "tired"


def test_a_director_keeps_the_list_and_the_floor_has_it(cast, client):
    assert "asked for hands" in ready_notes()
    client.force_login(cast.petra)
    kept = client.post("/notes", {"texts": "brave  tonight\n\nnew shoes\nnew shoes\n"})
    assert kept.status_code == 302
    assert ready_notes() == ["brave tonight", "new shoes"]
    pack = get(client, cast.omar, f"/floor/{cast.meeting.uuid}/pack").json()
    assert pack["ready_notes"] == ["brave tonight", "new shoes"]
    client.force_login(cast.petra)
    client.post("/notes", {"texts": " "})
    assert "asked for hands" in ready_notes()


@pytest.mark.parametrize(
    ("texts", "says"),
    [
        ("x" * 61, "is longer than 60 letters."),
        ("\n".join(f"note {n}" for n in range(21)), "These are 21 notes; at most 20 fit"),
    ],
)
def test_a_list_that_does_not_fit_is_said_and_changes_nothing(cast, client, texts, says):
    before = ready_notes()
    client.force_login(cast.petra)
    answer = client.post("/notes", {"texts": texts})
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert ready_notes() == before


def test_only_a_director_changes_the_list(cast, client):
    client.force_login(cast.omar)
    assert client.post("/notes", {"texts": "lazy"}).status_code == 403
    assert "lazy" not in ready_notes()
