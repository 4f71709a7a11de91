"""A head or a neck of which no family was told goes to the director at once."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.models import Pain, Told
from readiness.record.intake import take_lines
from studio.models import Contact
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.pages import get, text_of

pytestmark = pytest.mark.usefixtures("_at_now")


@pytest.fixture
def _at_now():
    with time_machine.travel(NOW, tick=False):
        yield


def say(cast, kind, by=None, **about):
    line = {"kind": kind, "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    line |= {"child": str(cast.mai.uuid)} | about
    [answer] = take_lines(cast.meeting, by or cast.omar, "tablet 3", NOW, [line], 3, NOW)
    assert answer.answer == "kept"


def test_a_head_is_there_with_the_numbers_to_call_until_somebody_was_told(cast, client):
    about = {"child": cast.mai, "household": 1}
    Contact.objects.create(name="Linh Tran", phone="0170 555", to_call=True, **about)
    Contact.objects.create(name="Somebody Else", phone="0170 999", not_told=True, **about)
    say(cast, "hurt", place="head")
    words = text_of(get(client, cast.petra, "/untold"))
    assert "A head or a neck, and no family told yet. Call tonight." in words
    assert "Mai Tran" in words
    assert "Head" in words
    assert "Linh Tran" in words
    assert "0170 555" in words
    assert "Somebody Else" not in words
    say(cast, "told", what="fall", whom="guardian-here")
    assert "Mai Tran" in text_of(get(client, cast.petra, "/untold"))
    say(cast, "told", what="head", whom="guardian-phone")
    assert "Mai Tran" not in text_of(get(client, cast.petra, "/untold"))


def test_a_head_that_was_another_childs_is_there_with_that_child_and_no_longer_with_this_one(
    cast, client
):
    say(cast, "hurt", place="head")
    wrong = Pain.objects.get()
    page = text_of(get(client, cast.petra, "/untold"))
    assert "Mai Tran" in page
    assert "Ilse" not in page
    right = {"kind": "hurt", "id": str(time_ordered_id(NOW)), "child": str(cast.ilse.uuid)}
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW, 1)), "turn": str(wrong.pk)}
    lines = [
        right | {"place": "head", "at": NOW.isoformat()},
        strike | {"code": "wrong-child", "instead": right["id"], "at": NOW.isoformat()},
    ]
    answers = take_lines(cast.meeting, cast.omar, "tablet 3", NOW, lines, 3, NOW)
    assert [each.answer for each in answers] == ["kept", "kept"]
    page = text_of(get(client, cast.petra, "/untold"))
    assert "Ilse" in page
    assert "Mai Tran" not in page


def test_a_knee_waits_for_the_door_and_an_old_head_is_gone(cast, client):
    say(cast, "hurt", place="knee")
    old = TODAY - datetime.timedelta(days=8)
    about = {"child": cast.mai, "by": cast.omar, "at": NOW, "received_at": NOW, "digest": ""}
    Pain.objects.create(id=time_ordered_id(NOW), place="head", day=old, **about)
    assert "Mai" not in text_of(get(client, cast.petra, "/untold"))


def test_a_director_of_another_hall_sees_nobody_and_a_coach_no_such_page(cast, client):
    say(cast, "hurt", place="head")
    assert "Mai" not in text_of(get(client, cast.dora, "/untold"))
    assert get(client, cast.omar, "/untold").status_code == 403
    assert "/untold" in get(client, cast.petra, "/").content.decode()
    assert "/untold" in get(client, cast.petra, "/review").content.decode()
    assert "/untold" not in get(client, cast.omar, "/").content.decode()


def test_told_on_the_childs_page_is_told_as_well(cast, client):
    say(cast, "hurt", place="head")
    about = {"child": cast.mai, "by": cast.omar, "at": NOW, "received_at": NOW, "digest": ""}
    Told.objects.create(
        id=time_ordered_id(NOW), about="head", whom="Mother", day=TODAY, meeting=None, **about
    )
    assert "Mai" not in text_of(get(client, cast.petra, "/untold"))
    pack = get(client, cast.omar, f"/floor/{cast.meeting.uuid}/pack").json()
    assert [(each["what"], each["whom"]) for each in pack["told"]] == [("head", "Mother")]


def test_twenty_heads_take_as_many_queries_as_two(cast, client):
    client.force_login(cast.petra)
    counts = []
    for number in (2, 18):
        for each in range(number):
            child = make_child(f"Child {number} {each}", cast.blue)
            say(cast, "hurt", place="neck", child=str(child.uuid))
        with CaptureQueriesContext(
            connection,
        ) as asked:
            client.get("/untold")
        counts.append(len(asked))
    assert counts[0] == counts[1]
