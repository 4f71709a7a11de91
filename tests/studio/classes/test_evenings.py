"""One evening: moved, cancelled, who stands in, who visits."""

import datetime

import pytest
import time_machine

from studio.classes.dates import evening_mark, evening_on
from studio.models import Attendance, Meeting, MeetingVisit
from studio.people.meetings import meeting_on
from tests.support.cast import NOW, TODAY, Logged, time_ordered_id
from tests.support.pages import signed_in

DAY = datetime.timedelta(days=1)
NEXT = TODAY + 7 * DAY


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


def post(by, group, verb, day=NEXT, seen=None, **said):
    fields = {"seen": evening_mark(evening_on(group, day)) if seen is None else seen, **said}
    return signed_in(by).post(f"/classes/{group.uuid}/evenings/{day}/{verb}", fields)


def move(by, group, to, starts_at="17:30", seen=None, **said):
    seen = evening_mark(evening_on(group, NEXT)) if seen is None else seen
    fields = {"seen": seen, "day": to, "starts_at": starts_at, "location": group.location_id}
    fields |= said
    return signed_in(by).post(f"/classes/{group.uuid}/evenings/{NEXT}/move", fields)


def test_one_evening_is_moved_and_opens_on_its_new_day(cast):
    assert move(cast.petra, cast.blue, NEXT + DAY, starts_at="18:15").status_code == 302
    plan = signed_in(cast.omar).get(f"/classes/{cast.blue.uuid}/plan").text
    assert "moved to Thu 12 Mar 2026, 18:15" in plan
    meeting = Meeting.objects.get(planned_date=NEXT)
    with time_machine.travel(NOW + 7 * DAY, tick=False):
        assert "None of your classes meets today." in signed_in(cast.omar).get("/").text
    with time_machine.travel(NOW + 8 * DAY, tick=False):
        page = signed_in(cast.omar).get("/").text
        assert "Moved to today." in page
        assert f'href="/floor/{meeting.uuid}"' in page
        assert signed_in(cast.omar).get(f"/floor/{meeting.uuid}/pack").status_code == 200


def test_only_the_time_of_an_evening_is_moved(cast):
    assert move(cast.petra, cast.blue, NEXT, starts_at="19:00").status_code == 302
    with time_machine.travel(NOW + 7 * DAY, tick=False):
        page = signed_in(cast.omar).get("/").text
    assert "19:00 · Mill hall" in page
    assert page.count("Moved to today.") == 1


def test_a_cancelled_evening_says_so_opens_no_floor_and_can_take_place_after_all(cast):
    assert post(cast.petra, cast.blue, "cancel").status_code == 302
    with time_machine.travel(NOW + 7 * DAY, tick=False):
        omar = signed_in(cast.omar)
        assert "Cancelled tonight." in omar.get("/").text
        answer = omar.post(f"/classes/{cast.blue.uuid}/meet")
        assert answer["Location"] == "/"
        assert "Blue is cancelled today." in omar.get("/").text
    assert post(cast.petra, cast.blue, "cancel", cancelled="no").status_code == 302
    with time_machine.travel(NOW + 7 * DAY, tick=False):
        assert "/floor/" in signed_in(cast.omar).post(f"/classes/{cast.blue.uuid}/meet")["Location"]


def test_an_evening_of_which_something_is_written_down_stays(cast):
    Logged(cast)(cast.mai, "wall-shrugs", [5])
    moved = {"day": NEXT + DAY, "starts_at": "17:30", "location": cast.hall.pk}
    seen = evening_mark(evening_on(cast.blue, TODAY))
    for verb, said in (("cancel", {}), ("move", moved)):
        address = f"/classes/{cast.blue.uuid}/evenings/{TODAY}/{verb}"
        refused = signed_in(cast.petra).post(address, {"seen": seen, **said})
        assert refused.status_code == 409
        assert "This evening has begun" in refused.text
    cast.meeting.refresh_from_db()
    assert (cast.meeting.date, cast.meeting.cancelled) == (TODAY, False)


def test_attendance_alone_holds_an_evening_too(cast):
    meeting = meeting_on(cast.blue, NEXT)
    Attendance.objects.create(
        id=time_ordered_id(NOW), meeting=meeting, child=cast.mai, present=True, at=NOW,
        by=cast.omar, digest="",
    )  # fmt: skip
    assert post(cast.petra, cast.blue, "cancel").status_code == 409


def test_a_class_does_not_meet_twice_at_the_same_time(cast):
    meeting_on(cast.blue, NEXT + 7 * DAY)
    taken = move(cast.petra, cast.blue, NEXT + 7 * DAY)
    assert taken.status_code == 409
    assert "The class meets then already." in taken.text
    assert not Meeting.objects.filter(planned_date=NEXT).exists()


def test_one_evening_is_held_in_another_hall_and_what_a_tablet_logs_there_is_taken(cast):
    """Its directors see that evening, and no other; the class stays where it is."""
    cast.petra.locations.add(cast.other_hall)
    cast.other_hall.address, cast.other_hall.emergency_number = "9 Quay", "999"
    cast.other_hall.confirmed_on = TODAY
    cast.other_hall.save()
    pack = f"/floor/{cast.meeting.uuid}/pack"
    assert signed_in(cast.dora).get(pack).status_code == 404
    seen = evening_mark(evening_on(cast.blue, TODAY))
    there = {"seen": seen, "day": TODAY, "starts_at": "17:30", "location": cast.other_hall.pk}
    address = f"/classes/{cast.blue.uuid}/evenings/{TODAY}"
    assert signed_in(cast.petra).post(f"{address}/move", there).status_code == 302
    told = signed_in(cast.omar).get(pack).json()["meeting"]
    assert (told["location"], told["address"], told["emergency"]) == ("Quay hall", "9 Quay", "999")
    assert "17:30 · Quay hall" in signed_in(cast.omar).get("/").text
    assert signed_in(cast.dora).get(pack).status_code == 200
    assert "It is held in this hall on this date." in signed_in(cast.dora).get("/").text
    assert signed_in(cast.dora).get(f"/floor/{meeting_on(cast.blue, NEXT).uuid}").status_code == 404
    late = post(cast.luis, cast.blue, "cancel", day=TODAY, seen=seen)
    assert "Somebody else changed this evening meanwhile." in late.text
    line = {
        "kind": "turn", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat(),
        "child": str(cast.mai.uuid), "drill": "wall-shrugs", "surface": "sprung-dance-floor",
        "support": 3, "value": 5,
    }  # fmt: skip
    from readiness.record.intake import take_lines

    for answer in ("kept", "had"):
        taken = take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
        assert [each.answer for each in taken] == [answer]
    assert Meeting.objects.filter(group=cast.blue, date=TODAY).count() == 1
    # Something is written down of it by now.
    back = there | {"seen": evening_mark(evening_on(cast.blue, TODAY)), "location": cast.hall.pk}
    assert signed_in(cast.petra).post(f"{address}/move", back).status_code == 409


def test_an_evening_comes_back_into_its_own_hall_and_goes_into_no_strange_one(cast):
    cast.petra.locations.add(cast.other_hall)
    assert move(cast.luis, cast.blue, NEXT, location=cast.other_hall.pk).status_code == 422
    assert move(cast.petra, cast.blue, NEXT, location=cast.other_hall.pk).status_code == 302
    assert Meeting.objects.get(planned_date=NEXT).hall == cast.other_hall
    assert move(cast.petra, cast.blue, NEXT).status_code == 302
    assert Meeting.objects.get(planned_date=NEXT).location is None


def test_of_two_desks_the_second_is_told_and_changes_nothing(cast):
    seen = evening_mark(evening_on(cast.blue, NEXT))
    move(cast.petra, cast.blue, NEXT, starts_at="19:00")
    late = post(cast.luis, cast.blue, "cancel", seen=seen)
    assert late.status_code == 409
    assert "Somebody else changed this evening meanwhile." in late.text
    meeting = Meeting.objects.get(planned_date=NEXT)
    assert (meeting.starts_at.hour, meeting.cancelled) == (19, False)
    assert post(cast.luis, cast.blue, "stand-in", seen=seen, staff=[]).status_code == 409


def test_a_coach_sends_somebody_to_her_own_class_who_then_sees_it(cast):
    assert signed_in(cast.ines).get(f"/classes/{cast.blue.uuid}/evenings/{NEXT}").status_code == 404
    assert post(cast.omar, cast.blue, "stand-in", staff=[cast.ines.pk]).status_code == 302
    meeting = Meeting.objects.get(planned_date=NEXT)
    assert list(meeting.staff.all()) == [cast.ines]
    assert "You stand in on this date." in signed_in(cast.ines).get("/").text
    assert signed_in(cast.ines).get(f"/floor/{meeting.uuid}/pack").status_code == 200
    post(cast.omar, cast.blue, "stand-in", staff=[])
    assert signed_in(cast.ines).get(f"/floor/{meeting.uuid}/pack").status_code == 404


def test_a_stand_in_of_another_hall_is_not_taken_away_and_not_given(cast):
    assert post(cast.omar, cast.blue, "stand-in", staff=[cast.dora.pk]).status_code == 422
    meeting_on(cast.blue, NEXT).staff.set([cast.dora])
    post(cast.omar, cast.blue, "stand-in", staff=[cast.ines.pk])
    assert set(Meeting.objects.get(planned_date=NEXT).staff.all()) == {cast.dora, cast.ines}


def test_a_visitor_is_on_the_floor_of_that_evening_alone_and_her_turns_are_taken(cast):
    answer = post(cast.petra, cast.blue, "visit", day=TODAY, child=cast.rosa.pk, makes_up="on")
    assert answer.status_code == 302
    post(cast.petra, cast.blue, "visit", day=TODAY, child=cast.rosa.pk, makes_up="on")
    assert MeetingVisit.objects.get().makes_up

    def on_floor(meeting):
        pack = signed_in(cast.omar).get(f"/floor/{meeting.uuid}/pack").json()
        return {child["name"] for child in pack["children"]}

    assert on_floor(cast.meeting) == {"Mai", "Ilse", "Rosa"}
    assert on_floor(meeting_on(cast.blue, NEXT)) == {"Mai", "Ilse"}
    line = {
        "kind": "turn", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat(),
        "child": str(cast.rosa.uuid), "drill": "wall-shrugs", "surface": "sprung-dance-floor",
        "support": 3, "value": 5,
    }  # fmt: skip
    from readiness.record.intake import take_lines

    answers = take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert [each.answer for each in answers] == ["kept"]


def test_a_visitor_is_taken_off_again_as_long_as_nothing_is_written_down_of_her(cast):
    post(cast.petra, cast.blue, "visit", day=TODAY, child=cast.rosa.pk)
    visit = MeetingVisit.objects.get()
    assert post(cast.omar, cast.blue, "visit/end", day=TODAY, visit=visit.pk).status_code == 403
    seen = {"by": cast.omar, "present": True, "at": NOW, "digest": "x"}
    Attendance.objects.create(id=time_ordered_id(NOW), meeting=cast.meeting, child=cast.mai, **seen)
    assert post(cast.petra, cast.blue, "visit/end", day=TODAY, visit=visit.pk).status_code == 302
    assert not MeetingVisit.objects.exists()
    # Twice is once.
    assert post(cast.petra, cast.blue, "visit/end", day=TODAY, visit=visit.pk).status_code == 302
    post(cast.petra, cast.blue, "visit", day=TODAY, child=cast.rosa.pk)
    visit = MeetingVisit.objects.get()
    Attendance.objects.create(
        id=time_ordered_id(NOW), meeting=cast.meeting, child=cast.rosa, **seen
    )
    answer = post(cast.petra, cast.blue, "visit/end", day=TODAY, visit=visit.pk)
    assert answer.status_code == 409
    assert "Something is written down of this child on that evening." in answer.text
    assert MeetingVisit.objects.get() == visit


def test_nobody_visits_who_is_of_the_class_or_not_of_the_halls(cast):
    assert post(cast.petra, cast.blue, "visit", child=cast.mai.pk).status_code == 422
    assert post(cast.dora, cast.far, "visit", child=cast.mai.pk).status_code == 422
    assert post(cast.omar, cast.blue, "visit", child=cast.rosa.pk).status_code == 403
    assert not MeetingVisit.objects.exists()


@pytest.mark.parametrize("day", ["2026-03-05", "2026-03-03", "2026-02-25", "2026-02-31", "today"])
def test_a_day_without_this_class_and_one_that_is_over_are_not_found(cast, day):
    page = signed_in(cast.petra).get(f"/classes/{cast.blue.uuid}/evenings/{day}")
    assert page.status_code == 404


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"to": TODAY - DAY}, "This day is over."),
        ({"to": "soon"}, "Enter a valid date."),
        ({"to": NEXT, "starts_at": "late"}, "Enter a valid time."),
    ],
)
def test_a_move_that_cannot_be_is_refused_with_a_sentence(cast, said, sentence):
    refused = move(cast.petra, cast.blue, **said)
    assert refused.status_code == 422
    assert sentence in refused.text


@pytest.mark.parametrize("verb", ["move", "cancel", "visit"])
def test_a_coach_moves_cancels_and_lets_in_nobody(cast, verb):
    assert post(cast.omar, cast.blue, verb).status_code == 403
    assert not Meeting.objects.filter(planned_date=NEXT).exists()
