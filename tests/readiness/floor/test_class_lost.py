"""Lines of somebody who lost the class before they were sent: a director is told."""

import datetime
import json
from typing import Any

import pytest
import time_machine
from django.test import Client

from progression.models import Attempt, RejectedLine
from readiness.record.restored.origin import make_origin
from studio.models import Staff
from tests.support.cast import NOW, TODAY, Cast, time_ordered_id
from tests.support.pages import get, text_of

pytestmark = pytest.mark.usefixtures("_at_now")


@pytest.fixture
def _at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def origin(cast: Cast) -> str:
    """As Omar's tablet has kept it since it fetched the class."""
    children = [child.uuid for child in cast.blue.children.all()]
    return make_origin(cast.meeting, children, [cast.omar.uuid], NOW)


def lose(cast: Cast) -> None:
    cast.blue.staff.remove(cast.omar)
    cast.meeting.staff.remove(cast.omar)


def turn(cast: Cast, nth: int = 0) -> dict[str, Any]:
    about = {"child": str(cast.mai.uuid), "drill": "log-roll", "surface": "sprung-dance-floor"}
    line = {"kind": "turn", "id": str(time_ordered_id(NOW, nth)), "at": NOW.isoformat()}
    return line | about | {"support": 0, "clean": True}


def send(
    cast: Cast,
    who: Staff,
    author: Staff,
    origin: str | None,
    lines: list[dict[str, Any]] | None = None,
) -> Any:
    client = Client()
    client.force_login(who)
    lines = lines or [turn(cast), turn(cast, 1)]
    body = {"v": 3, "device": "t", "sent_at": NOW.isoformat(), "lines": lines, "origin": origin}
    body["author"] = str(author.uuid)
    address = f"/floor/{cast.meeting.uuid}/attempts"
    return client.post(address, json.dumps(body), "application/json")


def codes(answer: Any) -> list[tuple[str, str]]:
    assert answer.status_code == 200, answer.content
    return [(line["answer"], line["code"]) for line in answer.json()["lines"]]


def test_they_are_set_aside_and_a_director_reads_whose_and_why(cast, client, origin):
    lose(cast)
    two = [turn(cast), turn(cast, 1)]
    assert codes(send(cast, cast.omar, cast.omar, origin, two)) == [("refused", "no-access")] * 2
    assert Attempt.objects.count() == 0
    lines = RejectedLine.objects.all()
    assert {(line.meeting, line.code) for line in lines} == {(cast.meeting, "no-access")}
    # Sent again, they are there once.
    assert codes(send(cast, cast.omar, cast.omar, origin, two)) == [("refused", "no-access")] * 2
    assert RejectedLine.objects.count() == 2
    page = text_of(get(client, cast.petra, "/refused-lines"))
    assert "whoever tapped it had lost the class when it came" in page
    assert "whoever tapped it" not in text_of(get(client, cast.dora, "/refused-lines"))
    shown = text_of(get(client, cast.petra, f"/refused-lines/{lines[0].uuid}"))
    assert "Mai Tran" in shown
    assert "Omar" in shown


def test_a_colleague_at_the_tablet_without_the_class_sends_them_there_too(cast, origin):
    lose(cast)
    assert codes(send(cast, cast.ines, cast.omar, origin)) == [("refused", "no-access")] * 2


def test_so_are_those_of_an_account_that_has_ended(cast, origin):
    cast.omar.left_on = TODAY - datetime.timedelta(days=1)
    cast.omar.save(update_fields=["left_on"])
    assert codes(send(cast, cast.ines, cast.omar, origin)) == [("refused", "no-access")] * 2


def test_whose_author_still_has_the_class_wait_for_somebody_who_has_it(cast, origin):
    assert send(cast, cast.ines, cast.omar, origin).status_code == 404
    assert RejectedLine.objects.count() == 0


@pytest.mark.parametrize("kept", ["none", "not ours", "of another meeting", "without the author"])
def test_without_this_servers_word_that_it_was_theirs_it_is_not_found(cast, kept, origin):
    lose(cast)
    other = cast.red.meetings.create(date=TODAY, starts_at=datetime.time(19))
    origins = {
        "none": None,
        "not ours": origin[:-1] + ("a" if origin[-1] != "a" else "b"),
        "of another meeting": make_origin(other, [], [cast.omar.uuid], NOW),
        "without the author": make_origin(cast.meeting, [], [cast.petra.uuid], NOW),
    }
    answer = send(cast, cast.omar, cast.omar, origins[kept])
    if kept == "not ours":
        assert codes(answer) == [("refused", "other-server")] * 2
        assert set(RejectedLine.objects.values_list("meeting", flat=True)) == {None}
    else:
        assert answer.status_code == 404
        assert RejectedLine.objects.count() == 0
