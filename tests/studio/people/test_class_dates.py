"""The real dates of classes, which a gate's promises count on."""

import datetime

from readiness.child.stage_panel import class_days
from studio.models import ClassMove, Holiday, Meeting
from studio.people.class_dates import coming_days, evenings
from studio.people.meetings import meeting_on
from tests.support.cast import TODAY, make_class

DAY = datetime.timedelta(days=1)
WEEK = 7 * DAY


def days(*groups, weeks=3):
    found = evenings(groups, TODAY + DAY, TODAY + weeks * WEEK)
    return [(each.day, each.state) for each in found]


def coming(*groups, most=4):
    return coming_days(groups, TODAY, most)


def holiday(hall, first, last, name="Easter"):
    return Holiday.objects.create(location=hall, name=name, first_day=first, last_day=last)


def test_a_class_meets_every_week(cast):
    assert days(cast.blue) == [(TODAY + n * WEEK, "") for n in (1, 2, 3)]
    assert coming(cast.blue) == [TODAY, TODAY + WEEK, TODAY + 2 * WEEK, TODAY + 3 * WEEK]


def test_a_child_of_no_class_has_today(cast):
    assert coming() == [TODAY]


def test_on_a_holiday_of_the_hall_there_is_no_class_the_first_and_last_day_included(cast):
    holiday(cast.hall, TODAY + WEEK, TODAY + 2 * WEEK)
    holiday(cast.other_hall, TODAY + 3 * WEEK, TODAY + 3 * WEEK)
    after = [(TODAY + WEEK, "holiday"), (TODAY + 2 * WEEK, "holiday"), (TODAY + 3 * WEEK, "")]
    assert days(cast.blue) == after
    assert coming(cast.blue, most=2) == [TODAY]
    assert coming(cast.blue, most=4) == [TODAY, TODAY + 3 * WEEK, TODAY + 4 * WEEK]


def test_from_a_day_on_it_meets_on_another_day_in_another_hall(cast):
    holiday(cast.hall, TODAY + 9 * DAY, TODAY + 9 * DAY)
    ClassMove.objects.create(
        group=cast.blue, from_day=TODAY + 8 * DAY, location=cast.other_hall, weekday=4,
        starts_at=datetime.time(18), minutes=60, by=cast.petra,
    )  # fmt: skip
    found = evenings([cast.blue], TODAY + DAY, TODAY + 17 * DAY)
    assert [(each.day, each.hall, each.starts_at.hour, each.state) for each in found] == [
        (TODAY + WEEK, cast.hall, 17, ""),
        (TODAY + 9 * DAY, cast.other_hall, 18, ""),
        (TODAY + 16 * DAY, cast.other_hall, 18, ""),
    ]


def test_one_evening_is_moved_and_one_cancelled(cast):
    moved = meeting_on(cast.blue, TODAY + WEEK)
    Meeting.objects.filter(pk=moved.pk).update(date=TODAY + 9 * DAY)
    cancelled = meeting_on(cast.blue, TODAY + 2 * WEEK)
    Meeting.objects.filter(pk=cancelled.pk).update(cancelled=True)
    assert days(cast.blue) == [
        (TODAY + WEEK, "moved"),
        (TODAY + 9 * DAY, ""),
        (TODAY + 2 * WEEK, "cancelled"),
        (TODAY + 3 * WEEK, ""),
    ]
    assert coming(cast.blue, most=3) == [TODAY, TODAY + 9 * DAY, TODAY + 3 * WEEK]


def test_an_evening_moved_into_a_holiday_takes_place(cast):
    holiday(cast.hall, TODAY + 8 * DAY, TODAY + 10 * DAY)
    moved = meeting_on(cast.blue, TODAY + WEEK)
    Meeting.objects.filter(pk=moved.pk).update(date=TODAY + 9 * DAY)
    assert (TODAY + 9 * DAY, "") in days(cast.blue)


def test_a_stand_in_who_was_named_before_makes_no_evening_of_a_day_that_is_none_any_more(cast):
    meeting_on(cast.blue, TODAY + WEEK).staff.set([cast.ines])
    cast.blue.weekday = 3
    assert [day for day, _state in days(cast.blue)] == [TODAY + DAY + n * WEEK for n in (0, 1, 2)]


def test_a_gate_counts_on_the_real_days(cast):
    holiday(cast.hall, TODAY + WEEK, TODAY + WEEK)
    assert class_days(cast.mai, TODAY)[:2] == [TODAY, TODAY + 2 * WEEK]


def test_it_takes_three_queries_for_any_number_of_classes(cast, django_assert_num_queries):
    groups = [cast.blue, *(make_class(f"Class {n}", cast.hall) for n in range(9))]
    for group in groups:
        assert group.location
    with django_assert_num_queries(3):
        assert len(evenings(groups, TODAY, TODAY + 4 * WEEK)) == 50
