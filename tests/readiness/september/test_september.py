"""The September sheet: whose last step waits, and who signs it."""

import datetime

import pytest
import time_machine

from readiness.models import Decision
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY
from tests.support.pages import get, text_of
from tests.support.ready import MAT, back_after_summer

WEEK = datetime.timedelta(weeks=1)
# Signed in March; away all summer; three classes since.
NOW_BACK = NOW + 28 * WEEK + datetime.timedelta(hours=2)
TODAY_BACK = TODAY + 28 * WEEK


@pytest.fixture
def back(cast, log):
    """Mai was away for more than eight weeks, and has walked the way back to standing by."""
    back_after_summer(cast, log, cast.mai, TODAY_BACK)
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
    for page in ("/review", f"/children/{back.uuid}", f"/children/{back.uuid}/evidence/4"):
        said = text_of(get(client, cast.petra, page))
        assert "Given today: unspotted from tomorrow" in said
        assert "it waits for a director" not in said
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
