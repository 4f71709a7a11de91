"""Steps of less support that were given before the ladder asked for a coach's tap."""

import copy
import datetime

import pytest
import time_machine

from readiness.models import Decision
from readiness.record.ladder_loading import load
from readiness.record.rebuild import rebuild
from studio.models import Child
from tests.support.cast import NOW, TODAY
from tests.support.pages import filled, get, text_of
from tests.support.ready import MAT, place_at

HEADING = "Given before the tap was asked for"
LISTED = "Ilse Back walkover, light touch; look again."
STAYS = "Back walkover: light touch stays"


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(NOW + datetime.timedelta(hours=2), tick=False):
        yield


@pytest.fixture
def given(cast, log):
    """Ilse was given light touch by the record alone."""
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=8))
    for back in range(6, 0, -1):
        day = TODAY - datetime.timedelta(weeks=back)
        log(cast.ilse, "back-walkover", "1111", day=day, support=3, surface=MAT)
    return cast.ilse


@pytest.fixture
def asked_for(ladder_content):
    """From today on the ladder asks for a tap for light touch as well."""

    def load_it():
        content = copy.deepcopy(ladder_content)
        drill = next(drill for drill in content["drill"] if drill["key"] == "back-walkover")
        step = next(step for step in drill["allow"] if step["support"] == "light-touch")
        step["tap"] = True
        load(content, now=NOW, from_day=TODAY, reason="hands never leave by themselves")

    return load_it


def review(client, who):
    return text_of(get(client, who, "/review"))


def child_page(client, who, child):
    return get(client, who, f"/children/{child.uuid}").content.decode()


def test_review_lists_them_once_the_tap_is_asked_for(cast, client, given, asked_for):
    assert HEADING not in review(client, cast.omar)
    asked_for()
    words = review(client, cast.omar)
    assert HEADING in words
    assert LISTED in words
    assert HEADING not in review(client, cast.dora)


def test_the_step_stays_given(cast, client, given, asked_for):
    asked_for()
    page = text_of(get(client, cast.omar, f"/children/{given.uuid}"))
    assert "Back walkover Mat on sprung dance floor and easier light touch" in page
    assert "Given before a coach's tap was asked for. Look again." in page.replace("&#x27;", "'")


def test_a_child_who_was_not_given_it_is_not_listed(cast, client, log, asked_for):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=8))
    log(cast.ilse, "back-walkover", "1", support=3, surface=MAT)
    asked_for()
    assert HEADING not in review(client, cast.omar)


def test_where_less_was_given_with_a_tap_nothing_is_asked(cast, client, given, asked_for, log):
    for back in range(5, 0, -1):
        day = TODAY - datetime.timedelta(days=back)
        log(given, "back-walkover", "1111", day=day, support=2, surface=MAT)
    html = child_page(client, cast.omar, given)
    assert "Back walkover: give standing by" in html
    assert client.post(f"/children/{given.uuid}/step", filled(html, "step")).status_code == 302
    asked_for()
    assert LISTED in review(client, cast.omar)
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        assert HEADING not in review(client, cast.omar)


def test_a_coach_who_looked_again_says_that_it_stays(cast, client, given, asked_for):
    asked_for()
    html = child_page(client, cast.omar, given)
    assert STAYS in html
    data = filled(html, "step")
    answer = client.post(f"/children/{given.uuid}/step", data)
    assert answer.status_code == 302
    tap = Decision.objects.get()
    assert (tap.kind, tap.drill.key, tap.support) == (Decision.Kind.STEP, "back-walkover", 2)
    words = text_of(get(client, cast.omar, f"/children/{given.uuid}"))
    assert "Back walkover: light touch given (Omar, today 20:00). It stays given." in words
    assert STAYS not in words
    assert HEADING not in review(client, cast.omar)
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        assert HEADING not in review(client, cast.omar)


def test_after_a_fall_the_tap_is_one_of_the_way_back(cast, client, given, asked_for, log):
    asked_for()
    html = child_page(client, cast.omar, given)
    log(given, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        assert STAYS not in child_page(client, cast.omar, given)
        answer = client.post(f"/children/{given.uuid}/step", filled(html, "step"))
    assert answer.status_code == 409
    assert not Decision.objects.exists()


def test_a_tap_of_an_assistant_is_refused(cast, client, given, asked_for):
    asked_for()
    data = filled(child_page(client, cast.omar, given), "step")
    client.force_login(cast.tam)
    assert client.post(f"/children/{given.uuid}/step", data).status_code == 403
    assert not Decision.objects.exists()


def test_what_is_stored_of_them_is_what_the_whole_record_says(cast, client, given, asked_for):
    asked_for()
    review(client, cast.omar)
    assert list(rebuild(Child.objects.filter(pk=given.pk), check=True)) == []
