"""The September sheet: whose last step waits, and who signs it."""

import datetime

import pytest
import time_machine

from progression.models import LadderVersion, Surface
from readiness.models import Decision
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY
from tests.support.pages import get, text_of
from tests.support.ready import MAT, ready_to_be_signed

WEEK = datetime.timedelta(weeks=1)
# Signed in March; away all summer; three classes since.
SIGNED_ON = TODAY
BACK = TODAY + 26 * WEEK
NOW_BACK = NOW + 28 * WEEK + datetime.timedelta(hours=2)
TODAY_BACK = TODAY + 28 * WEEK


def sign(cast, child):
    about = {
        "child": child, "stage": "4", "day": SIGNED_ON, "reading": {}, "digest": "",
        "surface": Surface.objects.get(key=MAT), "ladder": LadderVersion.objects.get(), "at": NOW,
    }  # fmt: skip
    asked = Decision.objects.create(**about, kind="recommend", by=cast.omar, as_director=False)
    Decision.objects.create(**about, kind="sign", by=cast.petra, as_director=True, answers=asked)


@pytest.fixture
def back(cast, log):
    """Mai was away for more than eight weeks, and has walked the way back to standing by."""
    ready_to_be_signed(cast, log)
    sign(cast, cast.mai)
    log(cast.mai, "back-walkover", "1111", day=TODAY + WEEK, support=1, surface=MAT)
    taps = ((0, 3, 2), (1, 2, 1), (2, 1, None))
    for weeks, support, given in taps:
        day = BACK + weeks * WEEK
        log(cast.mai, "back-walkover", "1111", day=day, support=support, surface=MAT)
        if given is not None:
            Decision.objects.create(
                child=cast.mai, kind="step", stage="4", support=given, by=cast.petra,
                drill=cast.mai.tallies.first().drill, as_director=True, day=day, reading={},
                digest="", at=datetime.datetime.combine(day, datetime.time(18), datetime.UTC),
                ladder=LadderVersion.objects.get(),
            )  # fmt: skip
    with time_machine.travel(NOW_BACK, tick=False):
        yield cast.mai


def sent(client, who, child, **more):
    page = get(client, who, "/september")
    form = page.context["sheets"][0].rows[0].form
    data = {name: form[name].value() for name in form.fields}
    return client.post(f"/september/{child.uuid}", data | more)


def test_whose_last_step_waits_stands_under_the_hall(cast, client, back):
    words = text_of(get(client, cast.petra, "/september"))
    assert "Mill hall 1" in words
    assert "Mai Back walkover unspotted" in words
    assert "Ilse" not in words
    # A director of another hall has another sheet.
    assert "Mai" not in text_of(get(client, cast.dora, "/september"))


def test_a_row_is_signed_with_who_saw_it_and_when(cast, client, back):
    day = TODAY_BACK - datetime.timedelta(days=1)
    answer = sent(client, cast.petra, back, seen_by="Omar", seen_on=day.isoformat())
    assert (answer.status_code, answer["Location"]) == (302, "/september")
    step = Decision.objects.filter(kind="step").latest("at", "pk")
    assert (step.child, step.support, step.by, step.day) == (back, 0, cast.petra, TODAY_BACK)
    assert step.reason == "Seen by Omar on 15 Sep 2026"
    words = text_of(get(client, cast.petra, "/september"))
    assert "Nobody's last step waits here." in words.replace("&#x27;", "'")
    assert "Seen by Omar on 15 Sep 2026" in words
    tomorrow = TODAY_BACK + datetime.timedelta(days=1)
    assert read(back, tomorrow).read.ways_back == ()


@pytest.mark.parametrize(
    "seen", [{"seen_by": ""}, {"seen_on": "2026-12-01"}, {"seen_on": "2026-08-01"}]
)
def test_nothing_is_signed_without_who_and_when(cast, client, back, seen):
    before = Decision.objects.count()
    assert sent(client, cast.petra, back, **seen).status_code == 422
    assert Decision.objects.count() == before


def test_a_stop_sign_since_the_sheet_was_drawn_refuses_it(cast, client, back, log):
    page = get(client, cast.petra, "/september")
    form = page.context["sheets"][0].rows[0].form
    data = {name: form[name].value() for name in form.fields}
    log(back, "back-walkover", "0", day=TODAY_BACK, support=1, surface=MAT, faults=("arms-give",))
    before = Decision.objects.count()
    assert client.post(f"/september/{back.uuid}", data).status_code == 409
    assert Decision.objects.count() == before
