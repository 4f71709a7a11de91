"""What the program asks of its database: SQLite and PostgreSQL must both give it."""

import datetime
import json
import os
import random
import string
import subprocess
import sys
import threading
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, connections, transaction
from django.test import Client
from django.utils import timezone

from progression.models import Attempt, Strike
from readiness.models import DayTally
from studio.models import Child, ClassGroup, Meeting
from tests.support.cast import Cast, Logged, make_child, make_class, make_staff, time_ordered_id

ROOT = Path(__file__).resolve().parents[3]
SQLITE = connection.vendor == "sqlite"


def shown(statement: str) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchone()[0]


def test_the_tests_run_on_the_database_that_was_asked_for():
    if os.environ.get("LADDER_NEED_POSTGRES"):
        assert connection.vendor == "postgresql"


def test_an_acknowledged_turn_survives_a_power_cut(db):
    if SQLITE:
        # https://sqlite.org/pragma.html#pragma_synchronous: 2 is FULL.
        assert shown("PRAGMA synchronous") == 2
        assert shown("PRAGMA journal_mode") == "wal"
    else:
        assert shown("SHOW synchronous_commit") == "on"
        assert shown("SHOW fsync") == "on"


def test_a_row_that_points_nowhere_is_refused(db):
    if SQLITE:
        assert shown("PRAGMA foreign_keys") == 1
    ClassGroup.objects.create(
        name="Nowhere", location_id=999_999, weekday=1, starts_at=datetime.time(17)
    )
    # Both databases look at the end of the transaction, or when asked.
    with pytest.raises(IntegrityError):
        connection.check_constraints()
    transaction.set_rollback(True)


def test_writers_take_their_turn_from_the_start_of_the_transaction(db):
    # A SQLite transaction that reads first and writes later cannot get the write lock once
    # another has written, whatever its timeout: IMMEDIATE queues at the start instead.
    if SQLITE:
        assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
        assert connection.settings_dict["OPTIONS"]["timeout"] >= 5
    else:
        assert shown("SHOW default_transaction_isolation") == "read committed"


@pytest.mark.django_db(transaction=True)
def test_two_transactions_that_read_and_then_write_both_get_through(cast: Cast):
    first_has_read = threading.Event()

    def read_then_write(name: str, wait: float) -> None:
        with transaction.atomic():
            child = Child.objects.select_for_update().get(pk=cast.mai.pk)
            first_has_read.set()
            threading.Event().wait(wait)
            child.guardian += name
            child.save(update_fields=["guardian"])

    first = thread(lambda: read_then_write("A", 0.3))
    assert first_has_read.wait(10)
    second = thread(lambda: read_then_write("B", 0))
    first.join(30)
    second.join(30)
    cast.mai.refresh_from_db()
    assert cast.mai.guardian == "AB"


def thread(work: Callable[[], None]) -> threading.Thread:
    started = threading.Thread(target=with_own_connection, args=(work,))
    started.start()
    return started


def with_own_connection(work: Callable[[], Any]) -> Any:
    try:
        return work()
    finally:
        connections.close_all()


# PostgreSQL's connections

only_postgres = pytest.mark.skipif(SQLITE, reason="SQLite has no pool")


@only_postgres
@pytest.mark.django_db(transaction=True)
def test_requests_take_the_connections_that_others_gave_back():
    served_by = []

    def ask() -> None:
        served_by.append(shown("SELECT pg_backend_pid()"))

    # A connection is given back a moment after its request: the next one may still open another.
    for _ in range(60):
        thread(ask).join(30)
    assert len(served_by) == 60
    assert len(set(served_by)) <= connection.pool.get_stats()["pool_max"] == 20


@only_postgres
@pytest.mark.django_db(transaction=True)
def test_a_connection_that_the_database_has_closed_is_noticed_and_another_taken():
    served_by = []

    def ask() -> None:
        served_by.append(shown("SELECT pg_backend_pid()"))

    thread(ask).join(30)
    # Until the process is gone, ten seconds at most: asked earlier it might still answer.
    assert shown(f"SELECT pg_terminate_backend({served_by[0]}, 10000)") is True
    thread(ask).join(30)
    assert len(served_by) == 2
    assert served_by[0] != served_by[1]


@only_postgres
def test_a_command_ends_although_it_had_a_pool(tmp_path):
    about = connection.settings_dict
    port = f":{about['PORT']}" if about["PORT"] else ""
    url = f"postgres://{about['USER']}:{about['PASSWORD']}@{about['HOST']}{port}/{about['NAME']}"
    done = subprocess.run(
        [sys.executable, "manage.py", "check", "--database", "default"],
        cwd=ROOT,
        env=os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "studio.settings"},
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert done.stderr == ""


# The log is append-only


def refused_by_the_database(change: Callable[[], Any]) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        change()


@pytest.fixture
def struck(cast: Cast, log: Logged) -> Strike:
    (attempt,) = log(cast.mai, "wall-shrugs", [10])
    return Strike.objects.create(
        id=time_ordered_id(timezone.now()),
        attempt_id=attempt.pk,
        code="wrong-tap",
        by=cast.omar,
        at=attempt.done_at,
        received_at=attempt.done_at,
        digest="0",
    )


def test_no_way_of_the_program_goes_round_the_guards(struck):
    attempt = Attempt.objects.get()
    refused_by_the_database(lambda: Attempt.objects.update(clean=True))
    refused_by_the_database(lambda: attempt.save(update_fields=["device"]))
    refused_by_the_database(attempt.delete)
    refused_by_the_database(struck.delete)
    refused_by_the_database(lambda: Strike.objects.update(code="other"))


def test_an_attempt_is_struck_once_only(struck):
    with pytest.raises(IntegrityError), transaction.atomic():
        Strike.objects.create(
            id=uuid.uuid4(),
            attempt_id=struck.attempt_id,
            code="other",
            by=struck.by,
            at=struck.at,
            received_at=struck.at,
            digest="1",
        )
    assert Strike.objects.count() == 1


# Many tablets at once

TABLETS, TURNS, CALLS = 10, 50, 5


def turn_lines(cast: Cast, meeting: Meeting, child: Child) -> list[dict[str, Any]]:
    start = timezone.now() - datetime.timedelta(minutes=10)
    lines = []
    for count in range(TURNS):
        at = start + datetime.timedelta(seconds=count)
        lines.append(
            {
                "kind": "turn",
                "id": str(time_ordered_id(at, count)),
                "at": at.isoformat(),
                "child": str(child.uuid),
                "drill": "wall-shrugs",
                "surface": "sprung-dance-floor",
                "support": 3,
                "value": 10 + count % 5,
            }
        )
    return lines


def send(client: Client, meeting: Meeting, lines: list[dict[str, Any]]) -> tuple[int, list[str]]:
    body = {
        "v": 1,
        "device": "tablet",
        "sent_at": timezone.now().isoformat(),
        "lines": lines,
    }
    answer = client.post(
        f"/floor/{meeting.uuid}/attempts", json.dumps(body), content_type="application/json"
    )
    answers = [line["answer"] for line in answer.json().get("lines", [])]
    return answer.status_code, answers


@pytest.mark.django_db(transaction=True)
def test_ten_tablets_send_while_a_roster_comes_in_and_every_turn_is_stored_once(
    cast: Cast, tmp_path: Path
):
    """Two tablets to a meeting, each for a child of its own; every call but the first is sent
    twice, as a tablet does that heard no answer."""
    day = timezone.localdate()
    plans = []
    for number in range(TABLETS):
        if number % 2 == 0:
            group = make_class(f"Class {number}", cast.hall)
            meeting = Meeting.objects.create(group=group, date=day, starts_at=group.starts_at)
        coach = make_staff(f"Coach{number}", "coach", cast.hall)
        group.staff.add(coach)
        child = make_child(f"Child {number}", group, cast.blue)
        plans.append((coach, meeting, child))
    start = threading.Barrier(TABLETS + 1)

    def tablet(plan: tuple[Any, Meeting, Child]) -> list[tuple[int, list[str]]]:
        coach, meeting, child = plan
        client = Client()
        client.force_login(coach)
        lines = turn_lines(cast, meeting, child)
        start.wait(60)
        size = TURNS // CALLS
        heard = []
        for first in range(0, TURNS, size):
            heard.append(send(client, meeting, lines[first : first + size]))
            if first:
                heard.append(send(client, meeting, lines[first : first + size]))
        return heard

    roster = tmp_path / "roster.csv"
    # Names so unlike each other that nobody is asked about as perhaps the same child.
    letters = random.Random(1)
    names = ["".join(letters.choices(string.ascii_lowercase, k=9)) for _ in range(500)]
    rows = [
        f"Pupil {name},2015-{n % 12 + 1:02d},{('Far', 'Blue')[n % 2]}"
        for n, name in enumerate(names)
    ]
    roster.write_text("Name,Birth,Class\n" + "\n".join(rows), encoding="utf-8")

    def bring_in() -> None:
        start.wait(60)
        call_command("import_roster", str(roster), commit=True, stdout=StringIO())

    with ThreadPoolExecutor(TABLETS + 1) as pool:
        importing = pool.submit(with_own_connection, bring_in)
        sending = [
            pool.submit(with_own_connection, lambda plan=plan: tablet(plan)) for plan in plans
        ]
        heard = [answer for each in sending for answer in each.result(300)]
        importing.result(300)

    assert {status for status, _ in heard} == {200}
    answers = [answer for _, line_answers in heard for answer in line_answers]
    resent = TABLETS * (TURNS - TURNS // CALLS)
    assert sorted(answers) == ["had"] * resent + ["kept"] * (TABLETS * TURNS)
    assert Attempt.objects.count() == TABLETS * TURNS
    assert {
        child.pk: sum(DayTally.objects.filter(child=child).values_list("turns", flat=True))
        for _, _, child in plans
    } == {child.pk: TURNS for _, _, child in plans}
    assert Child.objects.filter(name__startswith="Pupil").count() == 500


@pytest.mark.django_db(transaction=True)
def test_one_call_sent_by_two_threads_at_once_is_stored_once(cast: Cast):
    lines = turn_lines(cast, cast.meeting, cast.mai)[:20]
    start = threading.Barrier(2)

    def flush() -> tuple[int, list[str]]:
        client = Client()
        client.force_login(cast.omar)
        start.wait(30)
        return send(client, cast.meeting, lines)

    with ThreadPoolExecutor(2) as pool:
        both = [pool.submit(with_own_connection, flush) for _ in range(2)]
        heard = sorted(each.result(120) for each in both)
    assert heard == [(200, ["had"] * 20), (200, ["kept"] * 20)]
    assert Attempt.objects.count() == 20


@pytest.mark.django_db(transaction=True)
def test_a_coach_can_save_while_a_command_holds_a_transaction_open(cast: Cast):
    holding = threading.Event()

    def hold() -> None:
        with transaction.atomic():
            Child.objects.filter(pk=cast.rosa.pk).update(guardian="held")
            holding.set()
            threading.Event().wait(1.0)

    command = thread(hold)
    assert holding.wait(10)
    client = Client()
    client.force_login(cast.omar)
    status, answers = send(client, cast.meeting, turn_lines(cast, cast.meeting, cast.mai)[:1])
    command.join(30)
    assert (status, answers) == (200, ["kept"])


def test_the_schema_and_the_models_agree(db):
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
