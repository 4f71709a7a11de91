"""The floor's pack follows the plan that was taken, and the rotation that was begun."""

import datetime
import json

import pytest
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext

from progression.models import Drill
from readiness.engine.stations import planner
from readiness.floor.pack import build_pack
from readiness.models import RotationBegun, StationPlace, StationPlan
from readiness.record.intake import take_lines
from readiness.stations.evening.gather import Settled, gather, roster_of
from readiness.stations.taken import draft_of, take
from studio.models import Meeting
from tests.support.cast import NOW, make_child, time_ordered_id

pytestmark = pytest.mark.django_db


def began(number, minute=0):
    at = NOW - datetime.timedelta(minutes=30 - minute)
    about = {"kind": "rotation", "id": str(time_ordered_id(at)), "at": at.isoformat()}
    return about | {"number": number}


def send(cast, lines, by=None):
    answers = take_lines(cast.meeting, by or cast.omar, "tablet 3", NOW, lines, 3, NOW)
    return [(answer.answer, answer.code) for answer in answers]


def stations(cast, by=None):
    return json.loads(build_pack(cast.meeting, by or cast.omar, NOW))["stations"]


def alerts(cast):
    return Meeting.objects.get(pk=cast.meeting.pk).alerts


def plan(cast, *places):
    """Taken: (station, rotation, who)."""
    about = {"rotations": 2, "minutes": 8, "start": 0, "by": cast.omar, "at": NOW}
    row = StationPlan.objects.create(meeting=cast.meeting, **about)
    for key, rotation, who in places:
        drill, _plus, spotters = key.partition("+")
        at = {"station": key, "rotation": rotation, "spotters": int(spotters or 0)}
        StationPlace.objects.create(plan=row, drill=Drill.objects.get(key=drill), **at, **who)


def test_without_a_plan_the_pack_says_so(cast):
    assert stations(cast) is None


def test_it_says_who_is_where_in_each_rotation_and_who_leads(cast):
    plan(
        cast,
        ("log-roll", 0, {"child": cast.mai}),
        ("log-roll", 0, {"child": cast.ilse}),
        ("back-walkover+1", 1, {"child": cast.mai}),
        ("back-walkover+1", 1, {"adult": cast.omar}),
        # Neither is of this evening.
        ("back-walkover+1", 1, {"child": cast.rosa}),
        ("back-walkover+1", 0, {"adult": cast.ines}),
    )
    said = stations(cast)
    assert (said["minutes"], said["begun"]) == (8, None)
    first, second = said["rotations"]
    assert [(each["key"], each["drill"], each["spotters"]) for each in first] == [
        ("log-roll", "log-roll", 0),
    ]
    assert set(first[0]["children"]) == {str(cast.mai.uuid), str(cast.ilse.uuid)}
    (held,) = second
    assert (held["drill"], held["spotters"]) == ("back-walkover", 1)
    assert held["children"] == [str(cast.mai.uuid)]
    assert held["adults"] == [{"id": str(cast.omar.uuid), "name": cast.omar.called}]


def test_a_rotation_that_begins_is_stored_once_and_every_tablet_hears_of_it(cast):
    plan(cast, ("log-roll", 0, {"child": cast.mai}))
    first = began(1)
    assert send(cast, [first, first]) == [("kept", ""), ("had", "")]
    assert alerts(cast) == 1
    row = RotationBegun.objects.get()
    assert (row.number, row.by, row.meeting) == (1, cast.omar, cast.meeting)
    # A tap that comes late says nothing of now, and one may go back.
    assert send(cast, [began(2, 10), began(3, 5)]) == [("kept", "")] * 2
    assert stations(cast)["begun"]["number"] == 2


@pytest.mark.parametrize("number", [0, 22, "1", 1.0, True, None])
def test_what_is_no_rotation_is_refused_and_not_stored(cast, number):
    assert send(cast, [began(number)]) == [("refused", "bad-value")]
    assert (RotationBegun.objects.count(), alerts(cast)) == (0, 0)


def test_an_assistant_begins_none(cast):
    assert send(cast, [began(1)], by=cast.tam) == [("refused", "may-not-begin")]
    assert RotationBegun.objects.count() == 0


def test_it_is_neither_changed_nor_deleted(cast):
    send(cast, [began(1)])
    with pytest.raises(DatabaseError), transaction.atomic():
        RotationBegun.objects.update(number=2)
    with pytest.raises(DatabaseError), transaction.atomic():
        RotationBegun.objects.all().delete()


def test_a_plan_that_is_taken_in_mid_class_is_news_for_every_tablet(cast):
    evening = gather(roster_of(cast.meeting), Settled())
    made = planner.plan(evening.problem, None)
    take(cast.meeting, draft_of(cast.meeting, evening.problem, made), cast.omar, NOW)
    assert alerts(cast) == 1
    assert len(stations(cast)["rotations"]) == evening.problem.rotations


def test_queries_do_not_grow_with_the_plan(cast):
    plan(cast, ("log-roll", 0, {"child": cast.mai}))
    stations(cast)
    with CaptureQueriesContext(connection) as with_one:
        stations(cast)
    more = [make_child(f"Child {number}", cast.blue) for number in range(20)]
    plan(cast, *(("log-roll", 0, {"child": child}) for child in more))
    stations(cast)
    with CaptureQueriesContext(connection) as with_twenty:
        assert len(stations(cast)["rotations"][0][0]["children"]) == 20
    assert len(with_twenty) == len(with_one)
