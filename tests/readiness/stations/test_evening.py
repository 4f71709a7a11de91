"""An evening gathered from the record."""

import datetime
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Drill
from readiness.engine.stations.planner import plan
from readiness.engine.stations.problem import At, Hall
from readiness.models import HallReport, Pain, Pause, SpotterTraining
from readiness.stations.evening.equipment import write_down
from readiness.stations.evening.gather import Settled, gather, roster_of, rotations_of
from studio.models import Attendance
from tests.support.cast import NOW, TODAY, make_child, make_staff
from tests.support.engine.plan_checker import broken_rules
from tests.support.guards import forget_answers
from tests.support.ready import place_at

pytestmark = pytest.mark.django_db
ONE_DAY = datetime.timedelta(days=1)


def evening(cast, **settled):
    return gather(roster_of(cast.meeting), Settled(**settled))


def train(cast, who, *drills):
    for drill in drills:
        SpotterTraining.objects.create(
            staff=who, drill=Drill.objects.get(key=drill), trained_by="Uma Voss",
            until=TODAY, age=30, by=cast.petra, day=TODAY, at=NOW,
        )  # fmt: skip


def works(found, child):
    return {key: need.work for key, need in found.needs[child.pk].items()}


def say(cast, kind, surface=""):
    HallReport.objects.create(
        id=uuid.uuid4(), meeting=cast.meeting, kind=kind, surface=surface, at=NOW, by=cast.omar,
        received_at=NOW, digest="0",
    )  # fmt: skip


def test_a_class_of_an_hour_has_room_for_six_rotations():
    """12 minutes before the first, 8 each: common practice, no source."""
    assert [rotations_of(minutes) for minutes in (15, 30, 59, 60, 90)] == [1, 2, 5, 6, 8]


def test_who_is_here_and_an_assistant_is_no_adult(cast):
    found = evening(cast)
    assert {child.id for child in found.problem.children} == {cast.mai.pk, cast.ilse.pk}
    assert [each.id for each in found.problem.adults] == [cast.omar.pk]
    stand_in = make_staff("Uma", "coach", cast.hall)
    cast.meeting.staff.add(stand_in)
    assert len(evening(cast).problem.adults) == 2


def test_who_is_said_to_be_not_here_is_not_planned_and_the_latest_word_counts(cast):
    about = {"meeting": cast.meeting, "child": cast.mai, "by": cast.omar, "digest": "0"}
    Attendance.objects.create(id=uuid.uuid4(), present=False, at=NOW, **about)
    found = evening(cast)
    assert [child.id for child in found.problem.children] == [cast.ilse.pk]
    assert [child.pk for child in found.away] == [cast.mai.pk]
    Attendance.objects.create(id=uuid.uuid4(), present=True, at=NOW + ONE_DAY, **about)
    assert len(evening(cast).problem.children) == 2


def test_a_child_who_is_paused_is_asked_for_nothing(cast):
    Pause.objects.create(child=cast.mai, reason="Fever", by=cast.omar, at=NOW, day=TODAY)
    found = evening(cast)
    assert [child.pk for child in found.idle] == [cast.mai.pk]
    assert [child.id for child in found.problem.children] == [cast.ilse.pk]


def test_a_sore_wrist_takes_out_what_loads_the_hands(cast):
    assert "wall-handstand" in works(evening(cast), cast.mai)
    Pain.objects.create(
        id=uuid.uuid4(), child=cast.mai, meeting=cast.meeting, day=TODAY, place="wrist", at=NOW,
        by=cast.omar, received_at=NOW, digest="0",
    )  # fmt: skip
    drills = works(evening(cast), cast.mai)
    assert "wall-handstand" not in drills
    assert "hollow-hold" in drills


def test_a_drill_of_a_stage_that_is_closed_is_not_hers(cast):
    """A beginner has the first stage, and nothing that a spotter holds but the sit into arms."""
    drills = works(evening(cast), cast.mai)
    assert "back-walkover" not in drills
    assert "handspring" not in drills


def test_held_drills_ask_for_spotters_and_two_in_the_first_days(cast, log):
    place_at(cast, cast.mai, 6, TODAY - ONE_DAY)
    drills = works(evening(cast), cast.mai)
    # The card: one spotter, two on the first two days.
    assert drills["back-walkover"].spotters == 1
    assert drills["handspring"].spotters == 2
    assert drills["block-line-held"].spotters == 2


def test_without_a_yes_to_hands_nothing_held_is_asked(cast):
    place_at(cast, cast.mai, 6, TODAY - ONE_DAY)
    forget_answers(cast.mai)
    assert not any(work.spotters for work in works(evening(cast), cast.mai).values())


def test_what_holds_her_back_is_worth_most_of_the_gates(cast):
    needs = evening(cast).needs[cast.mai.pk]
    codes = {reason.code for need in needs.values() for reason in need.reasons}
    assert "holds" in codes
    assert "gate" in codes
    holding = [need for need in needs.values() if need.reasons and need.reasons[0].code == "holds"]
    others = [need for need in needs.values() if need.reasons and need.reasons[0].code == "gate"]
    assert min(n.work.worth for n in holding) > max(n.work.worth for n in others) - 250


def test_who_may_spot_what_is_what_was_written_down(cast):
    assert evening(cast).problem.adults[0].spots == frozenset()
    assert not evening(cast).may_spot
    train(cast, cast.omar, "back-walkover")
    assert evening(cast).problem.adults[0].spots == {"back-walkover"}


def test_the_spotter_is_gone_and_comes_back(cast):
    train(cast, cast.omar, "back-walkover")
    say(cast, "spotter-gone")
    assert evening(cast).spotter_gone
    assert evening(cast).problem.adults[0].spots == frozenset()
    HallReport.objects.create(
        id=uuid.uuid4(), meeting=cast.meeting, kind="spotter-back", at=NOW + ONE_DAY, by=cast.omar,
        received_at=NOW, digest="0",
    )  # fmt: skip
    assert evening(cast).problem.adults[0].spots == {"back-walkover"}


def test_the_hall_has_what_was_counted_one_of_a_thing_where_nobody_did_and_a_broken_mat_less(cast):
    write_down(cast.hall, {"wedge": 2, "wall-place": 2, "floor-place": 3}, cast.petra, NOW)
    hall = evening(cast).problem.hall
    assert hall.equipment["wedge"] == 2
    assert hall.equipment["barrel"] == 1
    assert (hall.wall, hall.floor) == ((10, 9), (10, 9, 8))
    say(cast, "mat-broken", "wedge")
    assert evening(cast).problem.hall.equipment["wedge"] == 1
    assert "wall-place" not in hall.equipment
    assert isinstance(hall, Hall)


def test_a_broken_mat_is_not_the_surface_of_the_evening(cast, log):
    log(cast.mai, "safe-fall", "1", day=TODAY - ONE_DAY, support=0, surface="air-floor")
    assert evening(cast).surface == "air-floor"
    say(cast, "mat-broken", "air-floor")
    assert evening(cast).surface == "wedge"


def test_everybody_has_as_many_stations_open_as_there_are_rotations(cast):
    found = evening(cast)
    drills = {station.drill for station in found.problem.stations}
    for child in found.problem.children:
        assert len({work.drill for work in child.works} & drills) >= found.problem.rotations


def test_what_is_locked_is_set_up_and_what_speaks_of_nobody_here_is_left_out(cast):
    lock = At(cast.mai.pk, "donkey-kicks", 0)
    nobody = At(cast.rosa.pk, "donkey-kicks", 0)
    unknown = At(cast.mai.pk, "no-such-drill", 0)
    found = evening(cast, locked=frozenset({lock, nobody, unknown}))
    assert found.problem.locked == {lock}
    assert "donkey-kicks" in {station.key for station in found.problem.stations}


def test_an_evening_without_a_spotter_is_of_drills_that_need_none_and_keeps_everybody_busy(cast):
    """A drill of which the card says "hands" is no ground work, whatever a child may do alone."""
    for child in (cast.mai, cast.ilse):
        place_at(cast, child, 6, TODAY - ONE_DAY)
    train(cast, cast.omar, "back-walkover", "handspring")
    assert any(station.spotters for station in evening(cast).problem.stations)
    found = evening(cast, ground=True)
    assert (found.ground, found.may_spot, found.shares) == (True, True, {})
    cards = found.ladder.drills
    drills = {work.drill for child in found.problem.children for work in child.works}
    assert {"hollow-hold", "wall-handstand"} <= drills
    assert [drill for drill in drills if cards[drill]["adult"] == "hands"] == []
    planned = plan(found.problem)
    assert planned.proven_best
    assert not broken_rules(found.problem, planned)
    assert len(planned.at) == 2 * found.problem.rotations
    assert not [post for post in planned.posts if "+" in post.station]


def test_where_nobody_may_spot_it_is_ground_work_by_itself(cast):
    assert evening(cast).ground
    train(cast, cast.omar, "back-walkover")
    assert not evening(cast).ground
    say(cast, "spotter-gone")
    assert evening(cast).ground


def test_a_station_that_is_split_is_there_twice_with_its_equipment(cast):
    found = evening(cast, split=frozenset({"hollow-hold", "no-such-drill", "arch-hold/2"}))
    of_hold = [each for each in found.problem.stations if each.drill == "hollow-hold"]
    assert [each.key for each in of_hold] == ["hollow-hold", "hollow-hold/2"]
    assert [each.second_of for each in of_hold] == ["", "hollow-hold"]
    assert of_hold[1].equipment == of_hold[0].equipment == {"floor-mat": 1}
    assert "no-such-drill" not in {each.drill for each in found.problem.stations}


def test_its_queries_do_not_grow_with_the_class(cast, log):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            evening(cast)
        return len(caught)

    queries()
    few = queries()
    for number in range(18):
        child = make_child(f"Kid{number} Long", cast.blue)
        log(child, "safe-fall", "10", day=TODAY - ONE_DAY, support=0, surface="wedge")
    assert queries() == few
