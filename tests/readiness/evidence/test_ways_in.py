"""The evidence page says of each day how its turns came in."""

import datetime
import re

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt
from readiness.record.intake import take_lines
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.pages import get
from tests.support.ready import MAT, WEEKS, place_at

PAGE = "/children/{}/evidence/4"


@pytest.fixture(autouse=True)
def today():
    with time_machine.travel(NOW, tick=False):
        yield


def send(cast, author, sender, day, later, source="floor"):
    meeting = cast.meeting.__class__.objects.get_or_create(
        group=cast.blue, date=day, starts_at=cast.blue.starts_at
    )[0]
    at = datetime.datetime.combine(day, NOW.timetz())
    line = {
        "kind": "turn", "id": str(time_ordered_id(at)), "at": at.isoformat(),
        "by": str(author.uuid),
        "child": str(cast.mai.uuid), "drill": "back-walkover", "surface": MAT, "support": 1,
        "clean": True,
    }  # fmt: skip
    now = at + datetime.timedelta(days=later)
    (answer,) = take_lines(meeting, sender, "t", now, [line], 3, now, source=source)
    assert answer.answer == "kept"


def days(client, cast) -> dict[str, str]:
    """By day, what stands under "by"."""
    page = get(client, cast.petra, PAGE.format(cast.mai.uuid)).content.decode()
    table = page.split("<h2>Days</h2>")[1].split("</table>")[0]
    rows = re.findall(r'<th scope="row"[^>]*>([^<]*).*?data-label="by">(.*?)</td>', table, re.S)
    return {day: " ".join(re.sub(r"<[^>]+>", " ", by).split()) for day, by in rows}


def test_floor_paper_and_file_who_brought_it_in_and_how_late(client, cast):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(days=60))
    send(cast, cast.omar, cast.omar, WEEKS[0], 0)
    send(cast, cast.omar, cast.tam, WEEKS[1], 1)
    send(cast, cast.omar, cast.petra, WEEKS[2], 9, source="file")
    assert set(days(client, cast).values()) == {
        "Omar floor",
        "Omar floor, brought in by Tam, 1 day later",
        "Omar tablet’s file, brought in by Petra, 9 days later",
    }


def test_many_days_take_as_many_queries_as_few(client, cast):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(days=60))
    counts = []
    for n in (2, 20):
        for day in range(n):
            send(cast, cast.omar, cast.tam, TODAY - datetime.timedelta(days=day + 1), 0)
        get(client, cast.petra, PAGE.format(cast.mai.uuid))
        with CaptureQueriesContext(connection) as seen:
            get(client, cast.petra, PAGE.format(cast.mai.uuid))
        counts.append(len(seen))
    assert counts[0] == counts[1]
    assert Attempt.objects.count() == 22
