"""Newcomers who have learned elsewhere are placed in one list, all of it or nothing."""

import datetime
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.models import Placing
from readiness.record.standings import read
from studio.people.family import say_family
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def now():
    with time_machine.travel(NOW, tick=False):
        yield


def placing(cast: Cast, **stages: object) -> dict[str, object]:
    sent = {f"stage-{getattr(cast, name).uuid}": stage for name, stage in stages.items()}
    about = {"token": uuid.uuid4(), "surface": "sprung-dance-floor", "reason": "Seen in June."}
    return about | sent


def test_thirty_newcomers_are_placed_by_one_form_and_open_hands_on(cast: Cast) -> None:
    children = [make_child(f"New {n} Comer", cast.blue) for n in range(30)]
    client = signed_in(cast.petra)
    sent = placing(cast) | {f"stage-{child.uuid}": 2 + n % 2 for n, child in enumerate(children)}
    assert client.post("/newcomers", sent).status_code == 302
    assert Placing.objects.count() == 30
    assert set(Placing.objects.values_list("by__username", flat=True)) == {"petra"}
    assert "3" in read(children[1], TODAY + datetime.timedelta(days=1)).read.state.opened
    page = text_of(client.get("/newcomers"))
    assert "30 children are placed." in page
    assert "New 1 Comer" not in page
    # Sent twice, it is done once.
    client.post("/newcomers", sent)
    assert Placing.objects.count() == 30


def test_nobody_places_their_own_family_and_then_nobody_is_placed(cast: Cast) -> None:
    say_family(cast.mai, cast.petra, cast.luis, NOW)
    client = signed_in(cast.petra)
    page = client.get("/newcomers").text
    assert f"stage-{cast.mai.uuid}" not in page
    assert "You are family: another director places." in page
    answer = client.post("/newcomers", placing(cast, mai=2, ilse=2))
    assert answer.status_code == 409
    assert "You are family of this child" in text_of(answer)
    assert not Placing.objects.exists()


def test_whoever_has_a_turn_is_no_newcomer_and_then_nobody_is_placed(
    cast: Cast, log: Logged
) -> None:
    log(cast.mai, "log-roll", "1")
    client = signed_in(cast.petra)
    page = text_of(client.get("/newcomers"))
    assert cast.ilse.name in page
    assert cast.mai.name not in page
    answer = client.post("/newcomers", placing(cast, mai=2, ilse=2))
    assert answer.status_code == 409
    assert "no newcomer any more" in text_of(answer)
    assert not Placing.objects.exists()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"reason": ""}, "Write a reason"),
        ({"surface": "lawn"}, "surface"),
        ({"mai": 4}, "none of those to choose"),
        ({"mai": 8}, "none of those to choose"),
        ({"mai": "x"}, "none of those to choose"),
        ({"mai": ""}, "No child was given a stage"),
    ],
    ids=str,
)
def test_what_cannot_be_kept_is_said_and_changes_nothing(
    cast: Cast, change: dict[str, object], sentence: str
) -> None:
    stages = {"mai": change.pop("mai", 3)}
    answer = signed_in(cast.petra).post("/newcomers", placing(cast, **stages) | change)
    assert answer.status_code in (409, 422)
    assert sentence in text_of(answer)
    assert not Placing.objects.exists()


def test_children_of_another_hall_are_neither_listed_nor_placed(cast: Cast) -> None:
    client = signed_in(cast.dora)
    assert cast.mai.name not in text_of(client.get("/newcomers"))
    assert client.post("/newcomers", placing(cast, mai=2)).status_code == 409
    assert not Placing.objects.exists()


def test_sixty_newcomers_take_as_many_queries_as_three(cast: Cast) -> None:
    client, counts = signed_in(cast.petra), []
    # The ladder is read into memory once.
    client.get("/newcomers")
    for more in (0, 60):
        for n in range(more):
            make_child(f"Newer {n} Comer", cast.blue)
        with CaptureQueriesContext(connection) as seen:
            client.get("/newcomers")
        counts.append(len(seen))
    assert counts[0] == counts[1]
