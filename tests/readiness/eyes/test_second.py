"""A second grade of the same turn: within a minute, unseen, and never a turn."""

import datetime

import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt, Strike
from readiness.models import DayTally, Look, SecondGrade
from tests.support.cast import NOW, make_staff, time_ordered_id
from tests.support.pages import text_of

SECOND = datetime.timedelta(seconds=1)


@pytest.fixture
def ola(cast):
    ola = make_staff("Ola", "coach", cast.hall)
    cast.blue.staff.add(ola)
    return ola


@pytest.fixture
def turn(cast, log):
    """Omar graded Mai's sit with 3, a second after NOW."""
    (turn,) = log(cast.mai, "sit-depth", [3.0])
    assert (turn.graded, turn.done_at) == (True, NOW + SECOND)
    return turn


def address(cast):
    return f"/floor/{cast.meeting.uuid}/second"


def graded(client, cast, turn, staff, seconds, value=2):
    client.force_login(staff)
    with time_machine.travel(turn.done_at + seconds * SECOND, tick=False):
        return client.post(address(cast), {"attempt": turn.pk, "value": value})


def listed(client, cast, staff, at):
    client.force_login(staff)
    with time_machine.travel(at, tick=False):
        return client.get(address(cast))


def test_a_second_coach_grades_the_same_turn_and_then_hears_the_first(client, cast, turn, ola):
    page = listed(client, cast, ola, turn.done_at + 5 * SECOND)
    (row,) = page.context["turns"]
    assert (row["child"], row["drill"], row["ago"]) == ("Mai Tran", "The sit, hands held", 5)
    assert set(row) == {"id", "child", "drill", "ago"}
    answer = graded(client, cast, turn, ola, 59)
    assert answer.status_code == 302
    kept = SecondGrade.objects.get()
    assert (kept.attempt, kept.by, kept.value) == (turn, ola, 2)
    page = listed(client, cast, ola, turn.done_at + 59 * SECOND)
    assert "Mai: you gave 2, the first grade was 3." in text_of(page)
    assert page.context["turns"] == []


def test_it_is_never_a_turn_and_no_evidence(client, cast, turn, ola):
    def record():
        return list(Attempt.objects.values_list("pk", "value")), list(
            DayTally.objects.values_list("drill__key", "turns", "best", "second_graded")
        )

    before = record()
    graded(client, cast, turn, ola, 5, 0)
    assert SecondGrade.objects.count() == 1
    assert record() == before


@pytest.mark.parametrize("seconds", [60, 61, 3600])
def test_after_a_minute_it_is_refused(client, cast, turn, ola, seconds):
    assert listed(client, cast, ola, turn.done_at + seconds * SECOND).context["turns"] == []
    answer = graded(client, cast, turn, ola, seconds)
    assert answer.status_code == 409
    assert "More than a minute has gone by" in text_of(answer)
    assert not SecondGrade.objects.exists()


def test_a_turn_that_is_still_to_come_is_refused(client, cast, turn, ola):
    assert graded(client, cast, turn, ola, -1).status_code == 409
    assert not SecondGrade.objects.exists()


def test_nobody_grades_an_own_turn_twice(client, cast, turn):
    assert listed(client, cast, cast.omar, turn.done_at + SECOND).context["turns"] == []
    answer = graded(client, cast, turn, cast.omar, 5)
    assert answer.status_code == 409
    assert "somebody else gives the second grade" in text_of(answer)
    assert not SecondGrade.objects.exists()


def test_who_has_given_one_is_refused_a_second_time(client, cast, turn, ola):
    graded(client, cast, turn, ola, 5, 1)
    answer = graded(client, cast, turn, ola, 6, 3)
    assert answer.status_code == 409
    assert "You have graded this turn already" in text_of(answer)
    assert SecondGrade.objects.get().value == 1


@pytest.mark.parametrize(("before", "refused"), [(-1, False), (0, True), (3, True)])
def test_who_has_seen_the_first_is_refused(client, cast, turn, before, refused):
    """Petra looks at the child's evidence before or after the turn came in."""
    at = turn.received_at + before * SECOND
    Look.objects.create(staff=cast.petra, child=cast.mai, at=at)
    answer = graded(client, cast, turn, cast.petra, 10)
    assert answer.status_code == (409 if refused else 302)
    assert SecondGrade.objects.exists() is not refused
    assert not refused or "You have seen the first grade" in text_of(answer)


def test_a_turn_that_is_taken_back_or_of_no_grade_is_no_turn_here(client, cast, turn, ola, log):
    (hold,) = log(cast.mai, "hollow-hold", [20.0])
    Strike.objects.create(
        id=time_ordered_id(NOW, 9),
        attempt_id=turn.pk,
        code="mistake",
        by=cast.omar,
        at=NOW,
        received_at=NOW,
    )
    assert listed(client, cast, ola, NOW + 5 * SECOND).context["turns"] == []
    for each in (turn, hold):
        answer = graded(client, cast, each, ola, 5)
        assert answer.status_code == 409
        assert "There is no such turn in this class" in text_of(answer)
    assert not SecondGrade.objects.exists()


@pytest.mark.parametrize("value", ["", "4", "-1", "two"])
def test_what_is_no_grade_is_refused(client, cast, turn, ola, value):
    assert graded(client, cast, turn, ola, 5, value).status_code == 409
    assert not SecondGrade.objects.exists()


def test_another_class_and_an_assistant_have_no_say(client, cast, turn):
    assert graded(client, cast, turn, cast.ines, 5).status_code == 404
    assert graded(client, cast, turn, cast.tam, 5).status_code == 403
    assert not SecondGrade.objects.exists()


def test_second_grades_are_only_added_to(client, cast, turn, ola):
    graded(client, cast, turn, ola, 5)
    with pytest.raises(DatabaseError), transaction.atomic():
        SecondGrade.objects.update(value=3)
    with pytest.raises(DatabaseError), transaction.atomic():
        SecondGrade.objects.all().delete()
    assert SecondGrade.objects.get().value == 2


def test_many_turns_take_no_more_queries(client, cast, log, ola):
    client.force_login(ola)
    counted = []
    with time_machine.travel(NOW + 30 * SECOND, tick=False):
        client.get(address(cast))
        for child, turns in ((cast.mai, 2), (cast.ilse, 18)):
            log(child, "sit-depth", [1.0] * turns)
            with CaptureQueriesContext(connection) as queries:
                found = len(client.get(address(cast)).context["turns"])
            counted.append((found, len(queries)))
    assert [found for found, _ in counted] == [2, 20]
    assert counted[0][1] == counted[1][1]
