"""Classes on their pages: added, changed, moved from a day on; holidays."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.classes.changing import class_mark
from studio.imports.bring_in import FileOptions
from studio.models import ClassGroup, ClassMove, Holiday, Meeting
from tests.support.cast import NOW, TODAY, make_class
from tests.support.pages import signed_in

DAY = datetime.timedelta(days=1)


@pytest.fixture(autouse=True)
def evening():
    with time_machine.travel(NOW, tick=False):
        yield


def add(by, hall, **said):
    fields = {"name": "Green", "location": hall.pk, "weekday": 1, "starts_at": "16:30"}
    return signed_in(by).post("/classes/add", {**fields, "minutes": 75, **said})


def move(by, group, **said):
    group.refresh_from_db()
    fields = {
        "from_day": TODAY + 8 * DAY,
        "location": group.location_id,
        "weekday": 4,
        "starts_at": "18:00",
        "minutes": 60,
        "seen": class_mark(group),
    }
    return signed_in(by).post(f"/classes/{group.uuid}/move", fields | said)


def test_a_class_is_added_with_its_staff(cast):
    answer = add(cast.petra, cast.hall, staff=[cast.omar.pk, cast.tam.pk])
    green = ClassGroup.objects.get(name="Green")
    assert answer["Location"] == f"/classes/{green.uuid}/plan"
    assert (green.weekday, green.starts_at, green.minutes) == (1, datetime.time(16, 30), 75)
    assert set(green.staff.all()) == {cast.omar, cast.tam}
    assert "Green" in signed_in(cast.omar).get("/classes").text


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"name": " Blue "}, "There is a class of this name in this hall already."),
        ({"name": ""}, "This field is required."),
        ({"weekday": 7}, "Select a valid choice."),
        ({"starts_at": "half six"}, "Enter a valid time."),
        ({"minutes": 5}, "greater than or equal to 10"),
    ],
)
def test_a_class_that_cannot_be_is_refused_with_a_sentence(cast, said, sentence):
    refused = add(cast.petra, cast.hall, **said)
    assert refused.status_code == 422
    assert sentence in refused.text
    assert ClassGroup.objects.count() == 3


def test_nobody_adds_a_class_to_a_hall_that_is_not_hers(cast):
    assert add(cast.petra, cast.other_hall).status_code == 422
    assert add(cast.omar, cast.hall).status_code == 403
    assert ClassGroup.objects.count() == 3


def change(by, group, **said):
    fields = {"name": group.name, "staff": [cast_pk(group)], "seen": class_mark(group)}
    return signed_in(by).post(f"/classes/{group.uuid}/change", fields | said)


def cast_pk(group):
    return group.staff.order_by("pk").values_list("pk", flat=True)[0]


def test_name_and_staff_change_and_staff_of_other_halls_stay(cast):
    cast.blue.staff.add(cast.dora)
    answer = change(cast.petra, cast.blue, name="Sky", staff=[cast.ines.pk])
    assert answer.status_code == 302
    blue = ClassGroup.objects.get(pk=cast.blue.pk)
    assert (blue.name, set(blue.staff.all())) == ("Sky", {cast.ines, cast.dora})


def test_of_two_desks_the_second_is_told_and_changes_nothing(cast):
    seen = class_mark(cast.blue)
    change(cast.petra, cast.blue, name="Sky")
    late = change(cast.luis, cast.blue, name="Sea", seen=seen)
    assert late.status_code == 409
    assert "Somebody else changed this class meanwhile." in late.text
    assert ClassGroup.objects.get(pk=cast.blue.pk).name == "Sky"
    assert move(cast.luis, cast.blue, seen=seen).status_code == 409
    assert not ClassMove.objects.exists()


def test_a_class_moves_on_its_day_and_not_before(cast):
    cast.petra.locations.add(cast.other_hall)
    assert move(cast.petra, cast.blue, location=cast.other_hall.pk).status_code == 302
    page = signed_in(cast.petra).get(f"/classes/{cast.blue.uuid}/plan").text
    assert "From 12 March 2026 on: Friday 18:00, Quay hall." in page
    blue = ClassGroup.objects.get(pk=cast.blue.pk)
    assert (blue.location, blue.weekday) == (cast.hall, 2)
    with time_machine.travel(NOW + 8 * DAY, tick=False):
        signed_in(cast.omar).get("/")
    blue.refresh_from_db()
    assert (blue.location, blue.weekday, blue.starts_at.hour) == (cast.other_hall, 4, 18)
    with time_machine.travel(NOW + 9 * DAY, tick=False):
        assert "18:00 · Quay hall" in signed_in(cast.omar).get("/").text


@pytest.fixture
def moved(cast):
    """Blue, which is in the other hall from a day on that has come; nobody has opened a page."""
    cast.petra.locations.add(cast.other_hall)
    cast.other_hall.zone = "Pacific/Auckland"
    cast.other_hall.save()
    assert move(cast.petra, cast.blue, location=cast.other_hall.pk).status_code == 302
    with time_machine.travel(NOW + 9 * DAY, tick=False):
        yield


def test_a_move_that_is_due_is_in_the_pack_though_nobody_opened_tonight(cast, moved):
    meeting = Meeting.objects.create(
        group=cast.blue, date=TODAY + 9 * DAY, starts_at=datetime.time(18)
    )
    pack = signed_in(cast.omar).get(f"/floor/{meeting.uuid}/pack").json()
    assert pack["meeting"]["location"] == "Quay hall"


def test_a_move_that_is_due_counts_for_a_meeting_that_is_made(cast, moved):
    signed_in(cast.omar).post(f"/classes/{cast.blue.uuid}/meet")
    meeting = Meeting.objects.latest("pk")
    # It is the next day there already.
    assert (meeting.date, meeting.starts_at.hour) == (TODAY + 10 * DAY, 18)


def test_a_move_that_is_due_counts_for_a_paper_log(cast, moved):
    from readiness.paper.bring_in import LogScope, read_paper

    day = TODAY + 10 * DAY
    text = f"date,child,drill,surface,value\n{day},Mai Tran,log-roll,wedge,clean\n"
    scope = LogScope.of(cast.petra, TODAY)
    reading = read_paper(text.encode(), FileOptions(), scope, NOW + 9 * DAY)
    assert [turn.day for turn in reading.new] == [day]


@pytest.mark.parametrize("page", ["/review", "/classes/{}"])
def test_a_move_that_is_due_counts_for_the_review(cast, moved, page):
    assert signed_in(cast.petra).get(page.format(cast.blue.uuid)).status_code == 200
    cast.blue.refresh_from_db()
    assert cast.blue.location == cast.other_hall


def test_from_today_on_is_at_once_and_a_later_move_is_replaced(cast):
    move(cast.petra, cast.blue, from_day=TODAY + 9 * DAY)
    move(cast.petra, cast.blue, from_day=TODAY, weekday=0)
    assert ClassGroup.objects.get(pk=cast.blue.pk).weekday == 0
    assert not ClassMove.objects.filter(done=False).exists()


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"from_day": TODAY - DAY}, "This day is over: a class moves from today on."),
        ({"from_day": "soon"}, "Enter a valid date."),
        ({"location": 0}, "Select a valid choice."),
    ],
)
def test_a_move_that_cannot_be_is_refused_with_a_sentence(cast, said, sentence):
    refused = move(cast.petra, cast.blue, **said)
    assert refused.status_code == 422
    assert sentence in refused.text
    assert not ClassMove.objects.exists()


def test_a_class_moves_to_no_hall_where_its_name_is_taken(cast):
    cast.petra.locations.add(cast.other_hall)
    make_class("Blue", cast.other_hall)
    refused = move(cast.petra, cast.blue, location=cast.other_hall.pk)
    assert "There is a class of this name in this hall already." in refused.text


def add_holiday(by, hall, first=TODAY, last=TODAY + 7 * DAY):
    fields = {"location": hall.pk, "name": "Spring break", "first_day": first, "last_day": last}
    return signed_in(by).post("/classes/holidays", fields)


def test_on_a_holiday_no_class_is_on_the_first_page_and_it_can_be_taken_away(cast):
    assert "Open the floor<" in signed_in(cast.omar).get("/").text
    assert add_holiday(cast.petra, cast.hall).status_code == 302
    page = signed_in(cast.omar).get("/").text
    assert "None of your classes meets today." in page
    assert "Open the floor today" in page
    plan = signed_in(cast.omar).get(f"/classes/{cast.blue.uuid}/plan").text
    assert plan.count("Spring break") == 2
    holiday = Holiday.objects.get()
    assert (
        signed_in(cast.dora).post("/classes/holidays/end", {"holiday": holiday.pk}).status_code
        == 404
    )
    assert (
        signed_in(cast.luis).post("/classes/holidays/end", {"holiday": holiday.pk}).status_code
        == 302
    )
    assert not Holiday.objects.exists()


def test_a_holiday_that_cannot_be_is_refused(cast):
    refused = add_holiday(cast.petra, cast.hall, last=TODAY - DAY)
    assert refused.status_code == 422
    assert "The last day is before the first." in refused.text
    assert add_holiday(cast.petra, cast.other_hall).status_code == 422
    assert add_holiday(cast.omar, cast.hall).status_code == 403
    assert not Holiday.objects.exists()


def test_the_list_asks_no_more_for_more_classes(cast, django_assert_num_queries):
    client = signed_in(cast.petra)
    client.get("/classes")
    for address in ("/classes", "/"):
        with CaptureQueriesContext(connection) as few:
            client.get(address)
        for number in range(8):
            make_class(f"{address} {number}", cast.hall, cast.omar)
        with django_assert_num_queries(len(few)):
            client.get(address)
