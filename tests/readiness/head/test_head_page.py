"""The page about a head knock: what is written down there, and the next step given or refused."""

import datetime
import re
import uuid

import pytest
import time_machine

from readiness.models import Clearance, HeadKnock, StepGiven, Symptom
from readiness.record.standings import fresh_standings, read
from studio.models import Child, Meeting
from studio.people.meetings import meeting_on
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.ready import place_at

TABLES = (HeadKnock, Symptom, Clearance, StepGiven)


def ago(days: int) -> datetime.date:
    return TODAY - datetime.timedelta(days=days)


@pytest.fixture
def page(client, cast):
    place_at(cast, cast.mai, 6, ago(60))
    client.force_login(cast.petra)
    with time_machine.travel(NOW, tick=False):
        yield client


def post(client, cast, what, **about):
    data = {"token": str(uuid.uuid4())} | about
    return client.post(f"/children/{cast.mai.uuid}/head/{what}", data)


def words(client, cast, address="/head"):
    return client.get(f"/children/{cast.mai.uuid}{address}").content.decode()


def head_step(cast):
    return read(Child.objects.get(pk=cast.mai.pk), TODAY).read.head_step


def put_knock(cast, days, child=None):
    about = {"day": ago(days), "at": NOW - datetime.timedelta(days=days), "by": cast.petra}
    at = about["at"]
    return HeadKnock.objects.create(
        id=time_ordered_id(at, 1), child=child or cast.mai, on=ago(days), received_at=at, digest="",
        **about,
    )  # fmt: skip


def put(table, knock, cast, days, **about):
    at = NOW - datetime.timedelta(days=days)
    return table.objects.create(knock=knock, day=ago(days), at=at, by=cast.petra, **about)


def put_steps(knock, cast, *given):
    """(step, days ago)"""
    for step, days in given:
        put(StepGiven, knock, cast, days, step=step, said_by="Mother", said_on=ago(days))


def give(client, cast, step, **about):
    said = {"step": step, "said_by": "Mother", "said_on": TODAY} | about
    return post(client, cast, "step", **said)


def test_a_knock_closes_everything_at_once_and_the_page_says_the_earliest_day(page, cast):
    assert "No knock on the head is on record." in words(page, cast)
    assert post(page, cast, "knock", on=TODAY, elsewhere="on").status_code == 302
    knock = HeadKnock.objects.get()
    assert (knock.child, knock.on, knock.elsewhere, knock.by) == (cast.mai, TODAY, True, cast.petra)
    assert head_step(cast) == 0
    said = words(page, cast)
    assert "A knock on the head on 4 Mar, elsewhere" in said
    assert "After a head knock: no step given yet. Nothing on the mats." in said
    assert "Next is step 1: everyday things and school. Earliest day: 5 Mar." in said
    assert "a doctor, and the rules of your place" in said
    assert "After a head knock: no step given yet." in words(page, cast, "")


def test_a_knock_of_an_earlier_day_counts_from_that_day(page, cast):
    assert post(page, cast, "knock", on=ago(3)).status_code == 302
    assert read(cast.mai, TODAY).read.state.head.knocked_on == ago(3)
    assert post(page, cast, "knock", on=ago(3)).status_code == 409
    assert post(page, cast, "knock", on=TODAY + datetime.timedelta(days=1)).status_code == 409
    assert HeadKnock.objects.count() == 1


def test_a_step_is_given_on_the_familys_word_and_counts_from_the_next_day(page, cast):
    put_knock(cast, 2)
    assert give(page, cast, 1).status_code == 302
    given = StepGiven.objects.get()
    assert (given.step, given.said_by, given.said_on) == (1, "Mother", TODAY)
    assert (given.by, given.at, given.day) == (cast.petra, NOW, TODAY)
    assert head_step(cast) == 0
    assert read(cast.mai, TODAY + datetime.timedelta(days=1)).read.head_step == 1
    assert "Step 1 given; Mother said “no symptoms” on 4 Mar" in words(page, cast)


def test_the_button_of_a_step_is_live_from_its_earliest_day_on(page, cast):
    put_knock(cast, 0)
    button = r"<button[^>]*disabled[^>]*>Give this step</button>"
    html = page.get(f"/children/{cast.mai.uuid}/head").text
    assert re.search(button, html)
    assert "Not before 5 Mar." in html
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        html = page.get(f"/children/{cast.mai.uuid}/head").text
    assert "Give this step" in html
    assert not re.search(button, html)


def test_a_step_that_waits_for_a_clearance_alone_names_no_day(page, cast):
    put_steps(put_knock(cast, 30), cast, (1, 9), (2, 8), (3, 7))
    html = page.get(f"/children/{cast.mai.uuid}/head").text
    assert re.search(r"<button[^>]*disabled", html)
    assert "Not before what it waits for is here." in html


REFUSED = [
    # (knock, steps and clearance in days ago), step, what is sent, what is said
    (((0,), (), None), 1, {}, "No step on the day of a knock"),
    (((5,), ((1, 0),), None), 2, {}, "Each step lasts at least 24 hours, until"),
    (((5,), (), None), 1, {"said_on": ago(5)}, "The family’s word has to be of a day since"),
    (((5,), (), None), 2, {}, "Another step is the next one by now."),
    (((14,), ((1, 9), (2, 8), (3, 7)), 5), 4, {}, "14 days without symptoms come before step 4."),
    (((30,), ((1, 9), (2, 8), (3, 7)), None), 4, {}, "Step 4 waits for a clearance"),
    (((20,), ((1, 9), (2, 8), (3, 7), (4, 5), (5, 4)), 6), 6, {}, "before day 21 after the knock"),
    (((), (), None), 1, {}, "No way back after a head knock is under way."),
]


@pytest.mark.parametrize(("story", "step", "about", "says"), REFUSED, ids=[r[3] for r in REFUSED])
def test_a_step_too_soon_is_refused_with_the_reason_and_nothing_is_kept(
    page, cast, story, step, about, says
):
    knocks, steps, cleared = story
    for days in knocks:
        knock = put_knock(cast, days)
        if cleared is not None:
            put(Clearance, knock, cast, cleared, on=ago(cleared), cleared_by="Dr Voss")
        put_steps(knock, cast, *steps)
    before = StepGiven.objects.count()
    response = give(page, cast, step, **about)
    assert response.status_code == 409
    assert says in response.content.decode()
    assert StepGiven.objects.count() == before


def test_the_refusal_names_the_earliest_day(page, cast):
    # UK Concussion Guidelines for Grassroots Sport, 2023, updated November 2024: day 21.
    knock = put_knock(cast, 20)
    put(Clearance, knock, cast, 6, on=ago(6), cleared_by="Dr Voss")
    put_steps(knock, cast, (1, 9), (2, 8), (3, 7), (4, 5), (5, 4))
    assert "The earliest day is 5 Mar 2026." in give(page, cast, 6).content.decode()
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        page.force_login(cast.petra)
        assert give(page, cast, 6, said_on=TODAY + datetime.timedelta(days=1)).status_code == 302


def test_a_symptom_is_one_step_back_at_once(page, cast):
    knock = put_knock(cast, 30)
    put_steps(knock, cast, (1, 9), (2, 8), (3, 7))
    assert head_step(cast) == 3
    assert post(page, cast, "symptom", on=TODAY).status_code == 302
    symptom = Symptom.objects.get()
    assert (symptom.knock, symptom.on, symptom.by) == (knock, TODAY, cast.petra)
    assert head_step(cast) == 2
    assert "A symptom on 4 Mar" in words(page, cast)


def test_a_clearance_keeps_a_name_and_a_day_and_nothing_else(page, cast):
    knock = put_knock(cast, 30)
    about = {"cleared_by": "Dr Voss", "on": ago(1)}
    assert post(page, cast, "clearance", **about).status_code == 302
    clearance = Clearance.objects.get()
    assert (clearance.knock, clearance.cleared_by, clearance.on) == (knock, "Dr Voss", ago(1))
    kept = {field.name for field in Clearance._meta.fields}
    assert kept == {"id", "knock", "day", "at", "by", "on", "cleared_by"}


@pytest.mark.parametrize(
    ("what", "about", "status"),
    [
        ("knock", {"on": ""}, 422),
        ("knock", {"on": "yesterday"}, 422),
        ("symptom", {"on": TODAY + datetime.timedelta(days=1)}, 409),
        ("symptom", {"on": ago(31)}, 409),
        ("clearance", {"on": ago(31), "cleared_by": "Dr Voss"}, 409),
        ("clearance", {"on": TODAY, "cleared_by": " "}, 422),
        ("step", {"step": 1, "said_by": "", "said_on": TODAY}, 422),
        ("step", {"step": 1, "said_by": "Mother", "said_on": ""}, 422),
        ("step", {"step": 7, "said_by": "Mother", "said_on": TODAY}, 422),
    ],
)
def test_what_is_not_complete_or_of_a_wrong_day_changes_nothing(page, cast, what, about, status):
    put_knock(cast, 30)
    assert post(page, cast, what, **about).status_code == status
    assert [table.objects.count() for table in TABLES] == [1, 0, 0, 0]


def test_a_second_click_with_the_same_form_gives_one_step(page, cast):
    put_knock(cast, 30)
    token = str(uuid.uuid4())
    assert [give(page, cast, 1, token=token).status_code for _ in range(2)] == [302, 302]
    assert StepGiven.objects.count() == 1


def test_a_coach_tells_of_a_knock_and_a_symptom_and_gives_no_step(page, cast):
    page.force_login(cast.omar)
    assert post(page, cast, "knock", on=ago(9)).status_code == 302
    assert post(page, cast, "symptom", on=ago(1)).status_code == 302
    assert give(page, cast, 1).status_code == 403
    about = {"cleared_by": "Dr Voss", "on": TODAY}
    assert post(page, cast, "clearance", **about).status_code == 403
    assert "A director gives each step." in words(page, cast)
    assert [table.objects.count() for table in TABLES] == [1, 1, 0, 0]


def test_review_and_the_floor_are_told_at_once(page, cast):
    before = Meeting.objects.get(pk=meeting_on(cast.blue, TODAY).pk).alerts
    post(page, cast, "knock", on=TODAY)
    assert Meeting.objects.get(pk=meeting_on(cast.blue, TODAY).pk).alerts == before + 1
    row = fresh_standings([cast.mai], NOW)[cast.mai.pk]
    assert (row.facts.state, row.facts.waits_for) == ("paused", "")
    said = page.get("/review?show=all").content.decode()
    assert "After a head knock: no step given yet." in said


def test_two_records_merged_are_held_by_the_knock_of_either(page, cast):
    other = make_child("Mai T.", cast.red, hands=False)
    put_steps(put_knock(cast, 9, child=other), cast, (1, 5))
    assert head_step(cast) is None
    merge(other, cast.mai, cast.petra, NOW)
    assert head_step(cast) == 1
    # The next one is given of the whole child.
    cast.mai.refresh_from_db()
    assert give(page, cast, 2).status_code == 302
