"""The desk leads to every job, and tells a new studio what comes next."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from readiness.desk.first_steps import first_steps
from readiness.desk.jobs import JOBS
from studio.models import Child, ClassGroup, Location, Staff, Studio
from tests.support.cast import TODAY, Cast, Logged, give_consent, make_child
from tests.support.pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def petra(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.petra)
    return client


def test_every_job_of_the_desk_opens(petra: Client) -> None:
    page = petra.get("/desk").content.decode()
    for _heading, jobs in JOBS:
        for job in jobs:
            address = reverse(job.page)
            assert f'href="{address}"' in page
            assert petra.get(address).status_code == 200


def test_a_new_studio_is_led_from_step_to_step(db: None) -> None:
    hall = Location.objects.create(name="Hill hall")
    director = Staff.objects.create_user("ada", password="x", role="director")
    director.locations.add(hall)
    Studio.objects.create(name="Hill")
    client = Client()
    client.force_login(director)
    steps = first_steps(director, TODAY)
    assert [step.done for step in steps] == [False] * len(steps)
    page = client.get("/desk").content.decode()
    assert "0 of 8 steps are done." in page
    (current,) = re.findall(r'<li aria-current="step">.*?</li>', page, re.DOTALL)
    assert "emergency card" in current
    hall.address, hall.emergency_number, hall.confirmed_on = "1 Hill Lane", "112", TODAY
    hall.save()
    group = ClassGroup.objects.create(name="Blue", location=hall, weekday=2, starts_at="17:00")
    assert [step.done for step in first_steps(director, TODAY)][:3] == [True, True, False]
    make_child("Ona Vale", group)
    assert [step.done for step in first_steps(director, TODAY)][:4] == [True, True, True, False]
    assert not first_steps(director, TODAY)[5].done


def test_the_step_of_hands_is_done_when_every_family_has_answered(cast: Cast) -> None:
    assert first_steps(cast.petra, TODAY)[4].done
    asked = [make_child(name, cast.blue, hands=False) for name in ("Nora Weiss", "Nils Weiss")]
    assert not first_steps(cast.petra, TODAY)[4].done
    give_consent(asked[0], yes=False)
    assert not first_steps(cast.petra, TODAY)[4].done
    give_consent(asked[1])
    assert first_steps(cast.petra, TODAY)[4].done


def test_what_is_done_is_done_by_what_is_there(cast: Cast, log: Logged) -> None:
    """Whoever has a turn is no newcomer; the children of another hall are nobody's step here."""
    for child in Child.objects.filter(classes__location=cast.hall).distinct():
        log(child, "log-roll", "1")
    assert first_steps(cast.petra, TODAY)[5].done


def test_the_desk_of_sixty_children_takes_as_many_queries_as_of_three(
    cast: Cast, petra: Client
) -> None:
    counts = []
    # The ladder is read into memory once.
    petra.get("/desk")
    for more in (0, 60):
        for n in range(more):
            make_child(f"Newer {n} Comer", cast.blue)
        with CaptureQueriesContext(connection) as seen:
            assert "First steps" in text_of(petra.get("/desk"))
        counts.append(len(seen))
    assert counts[0] == counts[1]


def test_placing_one_newcomer_ends_the_step_of_those_who_learned_elsewhere(
    cast: Cast, log: Logged
) -> None:
    assert not first_steps(cast.petra, TODAY)[5].done
    log(cast.mai, "log-roll", "1")
    assert first_steps(cast.petra, TODAY)[5].done
