"""manage.py rebuild_standings: the log folded again, compared or put right."""

import datetime
import threading
import uuid
from collections.abc import Iterator
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from progression.log.logbook import Keys
from progression.models import Attempt, Drill, Strike, Surface
from readiness.engine.tallies import Turn, in_order
from readiness.models import DayTally, FaultTally, Standing
from readiness.record.evidence_loader import TURN_COLUMNS, turn_of
from readiness.record.log_stream import LogStream
from readiness.record.standings import fresh_standings, read
from studio.models import Child
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child
from tests.support.ready import readings_now, ready_to_be_signed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def standing(cast: Cast, log: Logged) -> Standing:
    """A record with a fault, and a standing refreshed on its last day."""
    ready_to_be_signed(cast, log)
    log(cast.mai, "back-walkover", "10", support=1, faults=("low-back-only",))
    log(cast.rosa, "wall-shrugs", [5, 6], by=cast.ines)
    return fresh_standings([cast.mai, cast.rosa], NOW)[cast.mai.pk]


def rebuild(*options: str) -> str:
    output = StringIO()
    call_command("rebuild_standings", *options, stdout=output)
    return output.getvalue()


def rebuild_failing(*options: str) -> tuple[str, str]:
    """What is printed, and the error, of a command that fails."""
    output = StringIO()
    with pytest.raises(CommandError) as error:
        call_command("rebuild_standings", *options, stdout=output)
    return output.getvalue(), str(error.value)


def test_a_record_that_is_as_the_log_says_is_said_to_be() -> None:
    assert rebuild("--check") == "3 children: all is as the log says.\n"
    assert rebuild() == "3 children: all is as the log says.\n"


def spoil_a_tally(cast: Cast) -> None:
    DayTally.objects.filter(child=cast.mai, day=TODAY, drill__key="back-walkover").update(clean=2)


def lose_a_tally(cast: Cast) -> None:
    DayTally.objects.filter(child=cast.rosa).delete()


def add_a_tally(cast: Cast) -> None:
    tally = DayTally.objects.filter(child=cast.rosa).get()
    tally.pk, tally.child = None, cast.ilse
    tally.save()


def spoil_a_fault(cast: Cast) -> None:
    FaultTally.objects.filter(child=cast.mai).update(count=7)


def spoil_a_reading(cast: Cast) -> None:
    standing = Standing.objects.get(child=cast.mai)
    standing.reading["stages"][3]["gates"][0]["value"] = 0.5
    standing.save(update_fields=["reading"])


def spoil_a_start(cast: Cast) -> None:
    standing = Standing.objects.get(child=cast.mai)
    assert standing.start is not None
    standing.start["state"]["exceptions"] = ["8"]
    standing.save(update_fields=["start"])


@pytest.mark.parametrize(
    ("spoil", "who", "what"),
    [
        (spoil_a_tally, "mai", "tally of back-walkover on sprung-dance-floor at 1"),
        (lose_a_tally, "rosa", "tally of wall-shrugs on sprung-dance-floor at 0"),
        (add_a_tally, "ilse", "tally of wall-shrugs on sprung-dance-floor at 0"),
        (spoil_a_fault, "mai", "fault low-back-only at back-walkover on 2026-03-04"),
        (spoil_a_reading, "mai", "reading of 2026-03-04"),
        (spoil_a_start, "mai", "start of 2026-03-04"),
    ],
)
def test_what_differs_is_said_and_then_put_right(cast: Cast, spoil, who: str, what: str) -> None:
    spoil(cast)
    output, last = rebuild_failing("--check")
    assert f"{getattr(cast, who).uuid}: {what}" in output
    assert "differ from what the log says." in last
    # Checking changes nothing.
    assert rebuild_failing("--check") == (output, last)
    assert "put right." in rebuild()
    assert rebuild("--check") == "3 children: all is as the log says.\n"
    assert readings_now([cast.mai], NOW)[cast.mai.pk] == read(cast.mai, TODAY).data


def test_what_rests_on_wrong_tallies_is_read_again_by_whoever_asks_next(cast: Cast) -> None:
    """Even where nobody could tell that it is wrong: in what is long past."""
    spoil_a_tally(cast)
    standing = Standing.objects.get(child=cast.mai)
    assert standing.start is not None
    standing.start["summary"]["first"] = "1999-01-01"
    standing.save(update_fields=["start"])
    rebuild()
    standing = Standing.objects.get(child=cast.mai)
    assert (standing.stale, standing.start, standing.start_on) == (True, None, None)
    assert readings_now([cast.mai], NOW)[cast.mai.pk] == read(cast.mai, TODAY).data
    assert not Standing.objects.get(child=cast.mai).stale


def test_a_child_of_whom_nothing_is_kept_to_be_read_stays_so(cast: Cast) -> None:
    Standing.objects.all().delete()
    spoil_a_tally(cast)
    assert rebuild().endswith("\n1 put right.\n")
    assert not Standing.objects.exists()
    assert rebuild("--check") == "3 children: all is as the log says.\n"


def test_what_is_stale_is_not_compared_but_what_is_read_on_from_is(cast: Cast) -> None:
    spoil_a_reading(cast)
    Standing.objects.update(stale=True)
    assert rebuild("--check") == "3 children: all is as the log says.\n"
    spoil_a_start(cast)
    assert "start of 2026-03-04" in rebuild_failing("--check")[0]


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("before", [True, False])
def test_a_turn_that_comes_in_meanwhile_is_neither_lost_nor_a_difference(
    cast: Cast, log: Logged, monkeypatch: pytest.MonkeyPatch, before: bool
) -> None:
    """Before the child's turns are read, or after."""

    def come_in() -> None:
        log(cast.mai, "back-walkover", "1", support=1)
        connection.close()

    def turns(self: LogStream, child: int) -> Iterator[Turn]:
        if child != cast.mai.pk:
            return plain(self, child)
        turns = [] if before else list(plain(self, child))
        thread.start()
        # It waits for the child; without that it would be done long before.
        thread.join(1)
        return plain(self, child) if before else iter(turns)

    plain, thread = LogStream.turns, threading.Thread(target=come_in)
    if not before:
        spoil_a_tally(cast)
    with monkeypatch.context() as patched:
        patched.setattr(LogStream, "turns", turns)
        output = rebuild("--check") if before else rebuild()
    thread.join()
    assert output.endswith("all is as the log says.\n" if before else "\n1 put right.\n")
    assert rebuild("--check") == "3 children: all is as the log says.\n"


def test_which_record_stands_for_which_is_compared_and_put_right(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    merge(other, cast.mai, cast.petra, NOW)
    fresh_standings([cast.mai], NOW)
    Child.objects.filter(pk=other.pk).update(merged_into=None)
    Child.objects.filter(pk=cast.rosa.pk).update(merged_into=cast.ilse)
    printed, _error = rebuild_failing("--check")
    assert printed.splitlines()[:2] == [
        f"{child.uuid}: the record that stands for it" for child in (cast.rosa, other)
    ]
    assert Child.objects.get(pk=other.pk).merged_into is None
    rebuild()
    assert Child.objects.get(pk=other.pk).merged_into == cast.mai
    assert Child.objects.get(pk=cast.rosa.pk).merged_into is None
    assert rebuild("--check") == "4 children: all is as the log says.\n"


# --- the log in a stream ---------------------------------------------------------------


def put_turns(cast: Cast) -> None:
    """With everything that a turn can have, in no order."""
    elsewhere = datetime.timezone(datetime.timedelta(hours=5, minutes=30))
    common = {
        "child": cast.ilse, "drill": Drill.objects.all()[3], "surface": Surface.objects.all()[1],
        "author": cast.ines, "sender": cast.omar, "received_at": NOW, "digest": "",
        "source": Attempt.Source.FLOOR, "support": 2,
    }  # fmt: skip
    about = [
        {"clean": True, "graded": True},
        {"clean": False, "graded": False, "caught": True, "faults": ["half-hearted"]},
        {"clean": False, "graded": True, "faults": ["hands-wide-out", "«ü» \"'"]},
        {"value": 7, "graded": True},
        {"value": 1 / 3, "graded": False, "done_at": NOW.astimezone(elsewhere)},
        {"value": 0, "graded": False, "done_at": NOW.replace(microsecond=500_000)},
        {"value": 2.5, "graded": True, "done_at": NOW.replace(microsecond=7)},
    ]
    for nth, each in enumerate(about * 3):
        day = TODAY - datetime.timedelta(days=nth * 5 % 4)
        Attempt.objects.create(
            **common | {"done_at": NOW} | each, id=uuid.UUID(int=2**127 + 3**nth), day=day
        )


def test_the_stream_gives_the_turns_that_django_reads(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("readiness.record.log_stream.AT_ONCE", 5)
    put_turns(cast)
    Strike.objects.create(
        id=uuid.UUID(int=1), attempt_id=uuid.UUID(int=2**127 + 9), code="other", by=cast.omar,
        at=NOW, received_at=NOW, digest="",
    )  # fmt: skip
    log = LogStream(Keys.load())
    for child in (cast.mai, cast.ilse, cast.rosa):
        rows = (
            Attempt.objects.filter(child=child)
            .unstruck()
            .with_graded_now()
            .values_list(*TURN_COLUMNS)
        )
        # Of which class's date a turn is, tallies do not ask.
        expected = in_order(turn_of(row)._replace(meeting=None) for row in rows)
        turns = list(log.turns(child.pk))
        assert in_order(turns) == expected
        assert [[type(value) for value in turn] for turn in in_order(turns)] == [
            [type(value) for value in turn] for turn in expected
        ]
        assert [turn.day for turn in turns] == sorted(turn.day for turn in expected)
    assert sum(1 for _ in log.turns(cast.ilse.pk)) == 20
