"""Two classes in one hall at the same time share what it has, and who spots."""

import datetime

import pytest

from progression.models import Drill
from readiness.models import StationPlace, StationPlan
from readiness.stations.evening.equipment import write_down
from readiness.stations.evening.gather import Settled, gather, roster_of
from studio.models import Meeting
from tests.support.cast import NOW, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def red(cast):
    """The red class at the same time, where Ines and Omar are; Omar is at the wedge in rotation 2,
    from 17:50 to 17:58, and Rosa too."""
    meeting = Meeting.objects.create(group=cast.red, date=TODAY, starts_at=cast.red.starts_at)
    cast.red.staff.add(cast.omar)
    plan = StationPlan.objects.create(
        meeting=meeting, rotations=6, minutes=8, start=0, by=cast.ines, at=NOW,
        places={"sit-fall": [[], [0]], "wall-handstand": [[1], []]},
    )  # fmt: skip
    for key, rotation, who in (
        ("sit-fall", 1, {"child": cast.rosa}),
        ("sit-fall", 1, {"adult": cast.omar}),
    ):
        about = {"station": key, "drill": Drill.objects.get(key=key), "spotters": 0}
        StationPlace.objects.create(plan=plan, rotation=rotation, **about, **who)
    return meeting


def evening(cast, **settled):
    return gather(roster_of(cast.meeting), Settled(**settled))


def count(cast):
    counts = {"wedge": 2, "soft-mat": 3, "floor-place": 3, "wall-place": 2}
    write_down(cast.hall, counts, cast.petra, NOW)


def test_what_the_other_class_has_set_up_is_not_there_twice(cast, red):
    """The card of the sit-fall: a wedge and a soft mat."""
    count(cast)
    hall = evening(cast).problem.hall
    assert (hall.equipment["wedge"], hall.equipment["soft-mat"]) == (1, 2)
    assert (hall.wall, hall.floor) == ((10,), (9, 8))
    assert evening(cast).places == ([0], [1, 2])


def test_who_has_a_post_there_is_not_here_for_as_long(cast, red):
    (omar,) = evening(cast).problem.adults
    assert omar.present == {0, 2, 3, 4, 5}
    # With rotations of 6 minutes, from 17:42, 17:48, 17:54: the second and the third.
    (omar,) = evening(cast, minutes=6).problem.adults
    assert omar.present == {0, 3, 4, 5}


@pytest.mark.parametrize("minutes", [-60, 60])
def test_a_class_that_is_over_or_comes_later_takes_nothing(cast, red, minutes):
    start = datetime.datetime.combine(TODAY, red.starts_at) + datetime.timedelta(minutes=minutes)
    Meeting.objects.filter(pk=red.pk).update(starts_at=start.time())
    count(cast)
    found = evening(cast)
    assert found.problem.hall.equipment["wedge"] == 2
    assert found.problem.adults[0].present is None


def test_a_class_in_another_hall_takes_nothing(cast, red):
    Meeting.objects.filter(pk=red.pk).update(location=cast.other_hall)
    count(cast)
    assert evening(cast).problem.hall.equipment["wedge"] == 2


def test_a_class_without_a_plan_takes_nothing(cast):
    Meeting.objects.create(group=cast.red, date=TODAY, starts_at=cast.red.starts_at)
    count(cast)
    assert evening(cast).problem.hall.equipment["wedge"] == 2
