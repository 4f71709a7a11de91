"""The tap on a child's page that gives a step of less support."""

import datetime

import pytest

from readiness.models import Decision
from tests.support.cast import TODAY
from tests.support.pages import filled, get, text_of
from tests.support.ready import MAT, place_at

pytestmark = pytest.mark.usefixtures("_later")


def page(client, who, child):
    return get(client, who, f"/children/{child.uuid}").content.decode()


@pytest.fixture
def steady(cast, log):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=8))
    for back, support in ((6, 3), (5, 3), (4, 3), (3, 2), (2, 2), (1, 2), (0, 2)):
        day = TODAY - datetime.timedelta(weeks=back)
        log(cast.ilse, "back-walkover", "1111", day=day, support=support, surface=MAT)
    return cast.ilse


def test_a_coach_gives_the_next_step_with_one_tap(cast, client, steady):
    html = page(client, cast.omar, steady)
    assert "Back walkover: give standing by" in html
    answer = client.post(f"/children/{steady.uuid}/step", filled(html, "step"))
    assert (answer.status_code, answer["Location"]) == (302, f"/children/{steady.uuid}")
    assert Decision.objects.get().kind == Decision.Kind.STEP
    assert "give standing by" not in client.get(f"/children/{steady.uuid}").content.decode()


def test_a_double_tap_gives_one_step(cast, client, steady):
    html = page(client, cast.omar, steady)
    data = filled(html, "step")
    for _ in range(2):
        answer = client.post(f"/children/{steady.uuid}/step", data)
        assert (answer.status_code, answer["Location"]) == (302, f"/children/{steady.uuid}")
    assert Decision.objects.count() == 1


def test_a_tap_on_a_page_that_is_out_of_date_is_refused_and_redrawn(cast, client, steady, log):
    html = page(client, cast.omar, steady)
    log(steady, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
    answer = client.post(f"/children/{steady.uuid}/step", filled(html, "step"))
    assert answer.status_code == 409
    assert "The record does not give this step today." in answer.content.decode()
    assert not Decision.objects.exists()


def test_a_tap_on_the_gates_of_an_older_version_is_refused(cast, client, steady, new_gates):
    html = page(client, cast.omar, steady)
    new_gates(certainty=0.81)
    answer = client.post(f"/children/{steady.uuid}/step", filled(html, "step"))
    assert answer.status_code == 409
    assert "The gates have changed since this page was drawn: ladder 2" in text_of(answer)
    assert not Decision.objects.exists()
    # The page that was drawn again carries the version in force.
    again = filled(answer.content.decode(), "step")
    assert client.post(f"/children/{steady.uuid}/step", again).status_code == 302
    assert Decision.objects.get().ladder.number == 2


# --- what a step of today is worth ---------------------------------------------------------


@pytest.fixture
def stepped(cast, client, steady):
    """Somebody to whom a coach gave a step this evening."""
    html = page(client, cast.omar, steady)
    client.post(f"/children/{steady.uuid}/step", filled(html, "step"))
    return steady


def said_of_it(cast, client, child):
    words = text_of(get(client, cast.omar, f"/children/{child.uuid}"))
    return words.partition("standing by given (Omar, today 20:00). ")[2]


def test_a_step_counts_from_tomorrow(cast, client, stepped):
    said = said_of_it(cast, client, stepped)
    assert said.startswith("It counts from tomorrow, 5 Mar.")


def test_a_stop_sign_after_it_takes_the_step_back(cast, client, stepped, log):
    log(stepped, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
    said = said_of_it(cast, client, stepped)
    assert said.startswith("Turns since then have gone against it: it does not count.")


def test_a_pause_after_it_is_not_called_a_matter_of_turns(cast, client, stepped):
    html = page(client, cast.omar, stepped)
    client.post(f"/children/{stepped.uuid}/pause", filled(html, "pause", reason="Fever"))
    said = said_of_it(cast, client, stepped)
    assert said.startswith("As long as the pause lasts it changes nothing.")
    assert "gone against it" not in said
