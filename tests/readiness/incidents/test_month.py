"""A month of what happened: what waits, each of it, and how often per 1,000 turns."""

import datetime
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Drill, Surface
from readiness.models import DayTally, Fell, IncidentAccount
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.pages import get, text_of

LAST_MONTH = datetime.date(2026, 2, 10)
LAST_YEAR = datetime.date(2025, 4, 1)
TOO_LONG_AGO = datetime.date(2025, 3, 31)


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


def put_fell(cast, child, day=TODAY, number=0):
    """Each at its own hour, so that each is one by itself."""
    at = datetime.datetime.combine(day, datetime.time(number % 24), datetime.UTC)
    return Fell.objects.create(
        id=time_ordered_id(at, number), child=child, meeting=cast.meeting, day=day, at=at,
        by=cast.omar, received_at=at, digest="",
    )  # fmt: skip


def put_account(cast, child, start, day=TODAY, kind="fall", drill=None):
    return IncidentAccount.objects.create(
        start=start, child=child, kind=kind, day=day, by=cast.omar, at=NOW,
        drill=drill and Drill.objects.get(key=drill), mats="two", what="slid", first_aid="none",
    )  # fmt: skip


def put_turns(cast, child, day, turns, drill="back-walkover"):
    DayTally.objects.create(
        child=child, drill=Drill.objects.get(key=drill), surface=Surface.objects.first(),
        support=3, author=cast.omar, day=day, turns=turns, clean=0, graded=0, graded_clean=0,
        stop_signs=0, first_at=NOW, first_id=uuid.uuid4(), first_graded=False,
    )  # fmt: skip


def month(client, cast, who=None, asked=""):
    return text_of(get(client, who or cast.petra, f"/incidents?month={asked}"))


def test_what_is_not_written_down_waits_at_the_top_until_it_is(client, cast):
    fell = put_fell(cast, cast.mai)
    page = get(client, cast.petra, "/incidents")
    words = text_of(page)
    assert "1 is not written down yet: by the evening of the day after. Mai Tran Fall" in words
    assert f"/children/{cast.mai.uuid}/incidents/{fell.pk}" in page.content.decode()
    waits = "What happened: 1 is not written down yet"
    assert waits in text_of(get(client, cast.petra, "/review"))
    put_account(cast, cast.mai, fell.pk)
    assert waits not in text_of(get(client, cast.petra, "/review"))
    words = month(client, cast)
    assert "written down" not in words
    assert "Mai Tran Fall" in words


def test_a_month_has_its_own_and_no_other(client, cast):
    put_account(cast, cast.mai, uuid.uuid4(), LAST_MONTH, "other")
    put_account(cast, cast.ilse, uuid.uuid4(), TODAY, "caught", "back-walkover")
    words = month(client, cast)
    assert "Ilse Brand Near miss: caught, Back walkover" in words
    assert "Mai Tran" not in words
    words = month(client, cast, asked="2026-02")
    assert "Mai Tran Something else" in words
    assert "Ilse" not in words
    for asked in ("2027-01", "soon", ""):
        assert "Ilse Brand" in month(client, cast, asked=asked)
    assert "Nothing was logged." in month(client, cast, asked="2026-01")


def test_nineteen_are_too_few_to_say_and_twenty_are_a_rate_with_its_interval(client, cast):
    put_turns(cast, cast.mai, TODAY, 4_000)
    put_turns(cast, cast.mai, LAST_YEAR, 6_000, "handspring")
    for _each in range(19):
        put_account(cast, cast.mai, uuid.uuid4(), LAST_YEAR, "fall", "handspring")
    # Of the month before the twelve: in no count.
    put_account(cast, cast.mai, uuid.uuid4(), TOO_LONG_AGO, "fall", "handspring")
    words = month(client, cast)
    assert "Against all turns: 4000 in this month, 10000 in the twelve months" in words
    assert "Fall 0 too few to say 19 too few to say" in words
    assert "Back handspring 0 too few to say 19 too few to say" in words
    put_account(cast, cast.mai, uuid.uuid4(), LAST_YEAR, "fall", "handspring")
    words = month(client, cast)
    # 20: 12.2165 to 30.8884 (statsmodels, confint_poisson, method exact-c); in 10,000 and 6,000.
    assert "Fall 0 too few to say 20 2.0 per 1,000 turns (between 1.2 and 3.1)" in words
    assert "All 0 too few to say 20 2.0 per 1,000 turns (between 1.2 and 3.1)" in words
    assert "handspring 0 too few to say 20 3.3 per 1,000 turns (between 2.0 and 5.1)" in words


def test_a_coach_counts_the_own_classes_only_and_an_assistant_reads_none(client, cast):
    put_account(cast, cast.mai, uuid.uuid4())
    assert "Mai" in month(client, cast, cast.omar)
    for other in (cast.ines, cast.dora):
        words = month(client, cast, other)
        assert "Mai" not in words
        assert "All 0" in words
    assert get(client, cast.tam, "/incidents").status_code == 403


def test_nothing_of_it_is_in_another_familys_letter(client, cast, log):
    log(cast.ilse, "hollow-hold", [20])
    put_account(cast, cast.mai, uuid.uuid4(), kind="head")
    letter = text_of(get(client, cast.petra, f"/children/{cast.ilse.uuid}/letter"))
    assert "Mai" not in letter
    assert "slid" not in letter


def test_twenty_take_as_many_queries_as_two(client, cast):
    client.force_login(cast.petra)
    # What a new connection asks once.
    client.get("/incidents")
    counts = []
    for number in (2, 18):
        for each in range(number):
            child = make_child(f"Child {number} {each}", cast.blue)
            put_account(cast, child, put_fell(cast, child, number=each).pk)
            put_fell(cast, child, LAST_MONTH, each)
        with CaptureQueriesContext(connection) as asked:
            client.get("/incidents")
        counts.append(len(asked))
    assert counts[0] == counts[1]
