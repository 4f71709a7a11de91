"""What was planned and what was done."""

import datetime
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt, Drill, Strike
from readiness.models import StationPlace, StationPlan
from readiness.stations.done import left_out
from readiness.stations.evening.gather import Settled, gather, roster_of
from studio.models import Meeting
from tests.support.cast import NOW, TODAY, make_child
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db
WEEK = datetime.timedelta(days=7)


def evening(cast, weeks):
    day = TODAY - weeks * WEEK
    about = {"group": cast.blue, "date": day, "starts_at": cast.blue.starts_at}
    return Meeting.objects.get_or_create(**about)[0]


def plan(cast, meeting, child, *drills):
    """Taken for this child alone."""
    row = StationPlan.objects.create(
        meeting=meeting, rotations=6, minutes=8, start=0, by=cast.omar, at=NOW
    )
    for rotation, key in enumerate(drills):
        StationPlace.objects.create(
            plan=row, rotation=rotation, station=key, drill=Drill.objects.get(key=key),
            spotters=0, child=child,
        )  # fmt: skip


def done_page(cast, by=None):
    with time_machine.travel(NOW, tick=False):
        return signed_in(by or cast.omar).get(f"/stations/{cast.meeting.uuid}/done")


def test_side_by_side_what_was_logged_and_what_was_not(cast, log):
    plan(cast, cast.meeting, cast.mai, "safe-fall", "hollow-hold")
    log(cast.mai, "safe-fall", "110", support=0)
    log(cast.mai, "arch-hold", [12], support=0)
    words = text_of(done_page(cast))
    assert "1 of 2 planned stations were done, by the log." in words
    assert "Safe fall, 3 turns" in words
    assert "Hollow hold, nothing logged" in words
    assert "Arch hold, 1 turn" in words


def test_a_struck_turn_is_as_if_it_had_not_been(cast, log):
    plan(cast, cast.meeting, cast.mai, "safe-fall")
    (turn,) = log(cast.mai, "safe-fall", "1", support=0)
    log(cast.mai, "arch-hold", [12], support=0)
    assert isinstance(turn, Attempt)
    Strike.objects.create(
        id=uuid.uuid4(),
        attempt_id=turn.pk,
        by=cast.omar,
        code="mistake",
        at=NOW,
        received_at=NOW,
        digest="0",
    )
    assert "0 of 1 planned station was done" in text_of(done_page(cast))


def test_of_whom_nothing_was_logged_nothing_is_counted(cast, log):
    plan(cast, cast.meeting, cast.mai, "safe-fall")
    words = text_of(done_page(cast))
    assert "Of these nothing was logged: Mai" in words
    assert "0 of 0 planned" in words


def test_without_a_plan_it_says_so(cast):
    assert "No plan was taken" in text_of(done_page(cast))


def test_planned_on_two_evenings_and_done_on_neither_comes_first(cast, log):
    for weeks in (1, 2):
        plan(cast, evening(cast, weeks), cast.mai, "safe-fall", "bridge-hold")
        log(cast.mai, "bridge-hold", [5], day=TODAY - weeks * WEEK, support=0)
    assert left_out(cast.meeting) == {(cast.mai.pk, "safe-fall")}
    needs = gather(roster_of(cast.meeting), Settled()).needs[cast.mai.pk]
    assert needs["safe-fall"].reasons[0].code == "left-out"


@pytest.mark.parametrize("evenings", [[1], [1, 5], []])
def test_once_or_long_ago_is_not_twice(cast, log, evenings):
    for weeks in evenings:
        plan(cast, evening(cast, weeks), cast.mai, "safe-fall")
        log(cast.mai, "bridge-hold", [5], day=TODAY - weeks * WEEK, support=0)
    assert left_out(cast.meeting) == set()


def test_who_was_not_there_left_nothing_out(cast, log):
    for weeks in (1, 2):
        plan(cast, evening(cast, weeks), cast.mai, "safe-fall")
    assert left_out(cast.meeting) == set()


def test_an_assistant_and_another_coach_see_nothing_of_it(cast):
    assert done_page(cast, cast.tam).status_code == 403
    assert done_page(cast, cast.ines).status_code == 404


def test_its_queries_do_not_grow_with_the_class(cast, log):
    plan(cast, cast.meeting, cast.mai, "safe-fall")

    def queries():
        with CaptureQueriesContext(connection) as caught:
            done_page(cast)
        return len(caught)

    queries()
    few = queries()
    row = StationPlan.objects.get()
    drill = Drill.objects.get(key="safe-fall")
    for number in range(18):
        child = make_child(f"Kid{number} Long", cast.blue)
        log(child, "safe-fall", "1", support=0)
        about = {"rotation": 0, "station": "safe-fall", "drill": drill, "spotters": 0}
        StationPlace.objects.create(plan=row, child=child, **about)
    assert queries() == few
