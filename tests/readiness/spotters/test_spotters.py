"""Who is trained to spot what: written down by a director, said to the floor."""

import datetime
import json
import uuid

import pytest
import time_machine

from readiness.floor.pack import build_pack
from readiness.models import RoomNumbers, SpotterTraining, YoungestSpotter
from tests.support.cast import NOW, TODAY, make_child
from tests.support.pages import signed_in

pytestmark = pytest.mark.django_db
ONE_DAY = datetime.timedelta(days=1)


def post(by, what, **about):
    with time_machine.travel(NOW, tick=False):
        return signed_in(by).post(f"/spotters/{what}", {"token": str(uuid.uuid4())} | about)


def train(cast, who, *drills, until=TODAY + 365 * ONE_DAY, age=30, by=None):
    about = {"staff": who.pk, "drills": drills, "trained_by": "Uma Voss"}
    return post(by or cast.petra, "add", until=until, age=age, **about)


def told(cast):
    return json.loads(build_pack(cast.meeting, cast.omar, NOW))["spotters"]


def page(by):
    with time_machine.travel(NOW, tick=False):
        return " ".join(signed_in(by).get("/spotters").content.decode().split())


def test_before_anything_is_written_down_the_floor_says_just_that(cast):
    assert told(cast)["none"] is None
    # Omar; Tam assists, and may be a child still.
    assert told(cast)["coaches"] == 1
    assert told(cast)["most"] == {"usual": 10, "handsprings": 8, "small": 6}
    assert "handspring" in told(cast)["handsprings"]
    assert "back-walkover" not in told(cast)["handsprings"]


def test_a_training_is_by_whom_and_until_when_and_the_rest_nobody_may_spot(cast):
    assert train(cast, cast.omar, "back-walkover", "handspring").status_code == 302
    assert SpotterTraining.objects.count() == 2
    assert "back-walkover" not in told(cast)["none"]
    assert "barrel" in told(cast)["none"]
    assert "Omar, trained by Uma Voss, until 4 Mar 2027" in page(cast.petra)


def test_one_that_is_over_is_said_with_its_day(cast):
    train(cast, cast.omar, "back-walkover", until=TODAY)
    assert "back-walkover" not in told(cast)["none"]
    train(cast, cast.omar, "back-walkover", until=TODAY - ONE_DAY)
    sentence = "Omar may not spot Back walkover: the training was good until 3 Mar 2026."
    assert "back-walkover" in told(cast)["none"]
    assert told(cast)["lapsed"] == [sentence]
    assert sentence in page(cast.petra)


def test_what_ended_on_one_day_is_one_sentence(cast):
    train(cast, cast.omar, "back-walkover", "handspring", until=TODAY - ONE_DAY)
    drills = "Back walkover and Back handspring"
    sentence = f"Omar may not spot {drills}: the training was good until 3 Mar 2026."
    assert told(cast)["lapsed"] == [sentence]


def test_who_is_too_young_may_not_by_the_studios_own_age(cast):
    train(cast, cast.omar, "back-walkover", age=17)
    assert "back-walkover" in told(cast)["none"]
    assert post(cast.petra, "youngest", drill="back-walkover", years=17).status_code == 302
    assert "back-walkover" not in told(cast)["none"]
    assert YoungestSpotter.objects.get().by == cast.petra


def test_an_assistant_who_is_trained_does_not_count_as_the_adult_who_spots(cast):
    train(cast, cast.omar, "barrel")
    train(cast, cast.tam, "back-walkover")
    assert "back-walkover" in told(cast)["none"]


def test_the_studios_own_numbers(cast):
    assert post(cast.petra, "numbers", usual=9, handsprings=7, small=5).status_code == 302
    assert told(cast)["most"] == {"usual": 9, "handsprings": 7, "small": 5}
    assert post(cast.petra, "numbers", usual=0, handsprings=7, small=5).status_code == 422
    assert RoomNumbers.objects.count() == 1


def test_a_child_under_7_is_told_to_the_floor(cast):
    make_child("Bo Lind", cast.blue, born=(2019, 4))
    make_child("Cy Lind", cast.blue, born=(2019, 3))
    children = json.loads(build_pack(cast.meeting, cast.omar, NOW))["children"]
    assert {child["name"]: child["small"] for child in children} == {
        "Mai": False, "Ilse": False, "Bo": True, "Cy": False,
    }  # fmt: skip


@pytest.mark.parametrize("what", ["add", "youngest", "numbers"])
def test_a_coach_writes_nothing_down(cast, what):
    assert post(cast.omar, what).status_code == 403
    assert train(cast, cast.omar, "handspring", by=cast.omar).status_code == 403
    assert not SpotterTraining.objects.exists()
