"""The figures of the benchmarks, and the records that they are measured on."""

import datetime
import json
import sys
from collections import defaultdict
from contextlib import nullcontext
from types import SimpleNamespace

import numpy
import pytest
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st

from progression.log.logbook import store_turns
from progression.models import Attempt
from readiness.models import DayTally, FaultTally
from readiness.record.intake import take_lines
from readiness.record.standings import read
from studio.models import Child
from tests.bench import __main__ as command
from tests.bench import record
from tests.bench.counting import counted
from tests.bench.measure import Limit, Options, Result, percentile, spread

SMALL = record.Shape(children=3, days=4, a_day=7, every=3)


# --- figures ---------------------------------------------------------------------------


@given(
    st.lists(st.floats(0, 1e6), min_size=2, max_size=60),
    st.integers(1, 99),
)
def test_percentiles_are_those_of_numpy(values, percent):
    assert percentile(values, percent) == pytest.approx(numpy.percentile(values, percent), abs=1e-6)


def test_a_spread_tells_the_middle_and_the_slow_end():
    found = spread("call", [4.0, 1.0, 3.0, 2.0, 5.0])
    assert (found.n, found.median, found.quarter, found.three_quarters) == (5, 3.0, 2.0, 4.0)
    assert found.p95 == pytest.approx(4.8)
    assert found.told() == ("call: median 3.00 ms, 95 % 4.80, middle half 2.00 to 4.00 (n = 5)")


def test_a_limit_holds_up_to_its_figure():
    assert Limit("ratio", 2.0, 2.0).holds
    assert not Limit("ratio", 2.001, 2.0).holds
    assert Limit("ratio", 2.5, 2.0).told() == "OVER: ratio 2.500, at most 2"


@pytest.mark.parametrize(("value", "ends_with"), [(1.9, 0), (2.1, 1)])
def test_a_figure_over_its_limit_ends_with_one(monkeypatch, capsys, value, ends_with):
    result = Result("log", {"turns": 5}, [], [Limit("ratio", value, 2.0)], {"cores": "2"})
    asked = []

    def run(options):
        asked.append(options)
        return result

    monkeypatch.setattr(command, "django_on", lambda _url: nullcontext())
    monkeypatch.setitem(sys.modules, "tests.bench.log", SimpleNamespace(run=run))
    monkeypatch.setattr(sys, "argv", ["bench", "log", "--json", "--full"])
    assert command.main() == ends_with
    assert asked == [Options(full=True, database=None)]
    assert json.loads(capsys.readouterr().out)["holds"] is (ends_with == 0)


# --- records ---------------------------------------------------------------------------


@pytest.fixture
def made(db):
    record.make(SMALL)


def test_a_record_has_as_many_turns_as_its_shape_says(made):
    assert Attempt.objects.count() == SMALL.turns == 84
    assert {each.version for each in Attempt.objects.values_list("pk", flat=True)} == {7}
    days = Attempt.objects.order_by("-day").values_list("day", flat=True).distinct()
    assert [(record.NOW.date() - day).days for day in days] == [1, 4, 7, 10]


def through_the_door(turns, ladders):
    """The same turns, sent by a tablet on the evening of each class."""
    by_meeting = defaultdict(list)
    for turn in turns:
        by_meeting[turn.meeting].append(as_sent(turn))
    for meeting, lines in by_meeting.items():
        sent = datetime.datetime.combine(meeting.date, datetime.time(20), datetime.UTC)
        answers = take_lines(meeting, turns[0].author, "tablet", sent, lines, 2, sent)
        assert {each.answer for each in answers} == {"kept"}


def as_sent(turn):
    outcome = {"clean": turn.clean} if turn.value is None else {"value": turn.value}
    return {
        "kind": "turn",
        "id": str(turn.id),
        "at": turn.done_at.isoformat(),
        "child": str(turn.child.uuid),
        "drill": turn.drill,
        "surface": turn.surface,
        "support": turn.support,
        "caught": turn.caught,
        **outcome,
    }


def everything():
    """Tallies and readings, without keys of the database."""
    keys = {"id", "child", "drill", "surface", "author"}
    plain = [field.name for field in DayTally._meta.fields if field.name not in keys]
    names = ["child__name", "drill__key", "surface__key", "author__username", *plain]
    faults = ["child__name", "drill__key", "day", "fault", "count"]
    children = Child.objects.order_by("name")
    return (
        sorted(DayTally.objects.values_list(*names), key=str),
        sorted(FaultTally.objects.values_list(*faults), key=str),
        [read(child, record.NOW.date()).data | {"child": child.name} for child in children],
    )


def left_by_making():
    with transaction.atomic():
        record.make(SMALL)
        found = everything()
        transaction.set_rollback(True)
    return found


def stored_by(monkeypatch, store):
    monkeypatch.setattr(record, "store", store)
    with transaction.atomic():
        record.make(SMALL)
        plain = [f.name for f in Attempt._meta.fields if not f.is_relation]
        others = ["child__name", "drill__key", "surface__key", "author__username"]
        places = ["meeting__date", "meeting__group__name", "sender__username"]
        found = list(Attempt.objects.order_by("pk").values_list(*plain, *others, *places))
        transaction.set_rollback(True)
    return found


@pytest.mark.django_db
def test_turns_are_stored_as_the_project_stores_them(monkeypatch):
    quick = stored_by(monkeypatch, record.store)
    assert quick == stored_by(monkeypatch, store_turns)
    assert len(quick) == SMALL.turns


@pytest.mark.django_db
def test_a_record_is_what_the_floor_call_would_have_left(monkeypatch):
    quick = left_by_making()
    monkeypatch.setattr(record, "keep", through_the_door)
    assert left_by_making() == quick
    assert sum(row[0].startswith("Child000") for row in quick[0]) > 0


def test_queries_and_the_rows_that_come_back_are_counted(made):
    with counted() as found:
        list(Child.objects.all())
        Child.objects.order_by("pk").first()
        Child.objects.count()
    assert (found.queries, found.rows) == (3, SMALL.children + 2)
