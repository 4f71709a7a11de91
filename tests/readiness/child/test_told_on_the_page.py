"""What a coach writes down on a child's page: what hurt is gone, or still there; who was told."""

import datetime
import uuid

import pytest
import time_machine

from readiness.floor.before_class import entries_of
from readiness.models import Growing, Pain, PainGone, Told
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.ready import place_at

WEEK_AGO = TODAY - datetime.timedelta(days=7)


@pytest.fixture
def page(client, cast):
    """The child's page of somebody who was placed and whose wrist hurt a week ago."""
    place_at(cast, cast.mai, 6, TODAY - datetime.timedelta(days=30))
    at = datetime.datetime.combine(WEEK_AGO, datetime.time(17), datetime.UTC)
    about = {"child": cast.mai, "day": WEEK_AGO, "at": at, "by": cast.omar, "received_at": at}
    Pain.objects.create(id=time_ordered_id(at), place="wrist", digest="", **about)
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        yield client


def post(client, cast, **about):
    data = {"token": str(uuid.uuid4()), "place": "wrist", "answer": "gone"} | about
    return client.post(f"/children/{cast.mai.uuid}/sore", data)


def allowed(cast):
    found = read(cast.mai, TODAY).read.allowed("handspring", "sprung-dance-floor").support
    return None if found is None else found.code


def test_the_page_asks_and_gone_counts_at_once(page, cast):
    question = "Wrist, on 25 Feb: gone, or still there?"
    address = f"/children/{cast.mai.uuid}"
    assert question in page.get(address).content.decode()
    assert allowed(cast) is None
    assert post(page, cast).status_code == 302
    assert question not in page.get(address).content.decode()
    assert "No longer hurts: Wrist" in page.get(address).content.decode()
    assert allowed(cast) == "hands-on"
    gone = PainGone.objects.get()
    assert (gone.child, gone.place, gone.day, gone.by) == (cast.mai, "wrist", TODAY, cast.omar)


def test_still_there_a_week_later_is_a_pause(page, cast):
    assert post(page, cast, answer="still-there").status_code == 302
    assert read(cast.mai, TODAY).read.paused_since == TODAY
    assert Pain.objects.count() == 2


@pytest.mark.parametrize(
    ("about", "status", "says"),
    [
        ({"answer": ""}, 422, ""),
        ({"answer": "perhaps"}, 422, ""),
        ({"place": ""}, 422, "This form was not complete."),
        ({"place": "knee"}, 409, "That has been answered already. Nothing was changed."),
    ],
)
def test_what_is_not_asked_changes_nothing(page, cast, about, status, says):
    response = post(page, cast, **about)
    assert response.status_code == status
    assert says in response.content.decode()
    assert (PainGone.objects.count(), Pain.objects.count()) == (0, 1)


def test_who_may_not_see_the_child_changes_nothing(page, cast):
    for who, status in (("tam", 403), ("ines", 404)):
        page.force_login(getattr(cast, who))
        assert post(page, cast).status_code == status
    assert PainGone.objects.count() == 0


def test_a_second_click_with_the_same_form_is_one_answer(page, cast):
    token = str(uuid.uuid4())
    assert [post(page, cast, token=token).status_code for _ in range(2)] == [302, 302]
    assert PainGone.objects.count() == 1


# --- who of the family was told ------------------------------------------------------


def tell(client, cast, **about):
    data = {"token": str(uuid.uuid4()), "what": "wrist", "whom": "Mother, by phone"} | about
    return client.post(f"/children/{cast.mai.uuid}/told", data)


def test_who_was_told_is_kept_with_who_told_and_when(page, cast):
    assert tell(page, cast).status_code == 302
    told = Told.objects.get()
    assert (told.child, told.about, told.whom) == (cast.mai, "wrist", "Mother, by phone")
    assert (told.by, told.at, told.meeting) == (cast.omar, NOW, None)
    words = page.get(f"/children/{cast.mai.uuid}").content.decode()
    assert "Family told of Wrist: Mother, by phone" in words


@pytest.mark.parametrize(
    ("about", "says"),
    [
        ({"whom": " "}, "Write down who was told."),
        ({"whom": "x" * 81}, "80"),
        ({"what": "nowhere"}, ""),
        ({"token": ""}, "This form was not complete."),
    ],
)
def test_told_nobody_or_of_nothing_changes_nothing(page, cast, about, says):
    response = tell(page, cast, **about)
    assert response.status_code == 422
    assert says in response.content.decode()
    assert Told.objects.count() == 0


# --- growing fast --------------------------------------------------------------------


def grow(client, cast, **about):
    data = {"token": str(uuid.uuid4()), "said_by": "Mother"} | about
    return client.post(f"/children/{cast.mai.uuid}/growing", data)


def test_a_child_grows_fast_for_eight_weeks_or_until_a_coach_ends_it(page, cast):
    address = f"/children/{cast.mai.uuid}"
    assert grow(page, cast).status_code == 302
    told = Growing.objects.get()
    assert (told.child, told.said_by, told.day, told.by) == (cast.mai, "Mother", TODAY, cast.omar)
    words = page.get(address).content.decode()
    assert "Growing fast since 4 Mar, until 29 Apr." in words
    assert "Growing fast, says Mother" in words
    with time_machine.travel(NOW + datetime.timedelta(minutes=1), tick=False):
        assert grow(page, cast, ends="true").status_code == 302
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        assert "Growing fast since" not in page.get(address).content.decode()


@pytest.mark.parametrize(
    ("about", "status", "says"),
    [
        ({"said_by": "x" * 81}, 422, "80"),
        ({"ends": "true"}, 409, "That is over already."),
        ({"token": ""}, 422, "This form was not complete."),
    ],
)
def test_what_cannot_be_said_of_growing_changes_nothing(page, cast, about, status, says):
    response = grow(page, cast, **about)
    assert response.status_code == status
    assert says in response.content.decode()
    assert Growing.objects.count() == 0


def test_growing_fast_is_said_once_and_before_class(page, cast):
    assert [grow(page, cast).status_code for _ in range(2)] == [302, 409]
    entries = dict(entries_of(read(cast.mai, TODAY), "Mai"))
    assert "Ask about knees, heels and back." in entries["growing"]
