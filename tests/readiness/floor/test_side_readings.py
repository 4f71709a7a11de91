"""What was read off a picture from the side, with its turn: kept, refused, left out."""

import copy
import json

import pytest
import time_machine

from progression.log.side_reading import SIDE_JOINTS
from progression.models import Attempt, RejectedLine
from readiness.engine.eyes.pictures import JOINTS
from readiness.floor.pack import build_pack
from readiness.models import AttemptAngles
from readiness.outbox.words import REASONS
from readiness.record.intake import take_lines
from readiness.record.told.side_readings import USUAL_SPREAD, studio_spread
from studio.models import PictureConsent
from studio.people.consents import NewAnswer, store_answers
from tests.support.cast import NOW, TODAY, time_ordered_id

pytestmark = pytest.mark.django_db

SIT = {
    "kind": "sit",
    "angles": {
        "shin_lean": [2.1, 4.0],
        "knee": [112, 4.2],
        "trunk_lean": [18.4, 3.1],
        "hip_behind_heel": [0.61, 0.08],
        "heel_lift": [0.3, 5],
    },
    "joints": {
        "heel": [0, 0],
        "toe": [0.6, 0],
        "ankle": [0.2, 0.1],
        "knee": [0.23, 1.1],
        "hip": [-0.7, 0.8],
        "shoulder": [-0.3, 2],
    },
    "spread": 0.04,
    "twice": False,
    "suggests": 3,
    "chances": [0, 0.02, 0.05, 0.93],
}


@pytest.fixture
def yes(cast):
    answers = [NewAnswer(cast.mai, "", yes=True)]
    store_answers(PictureConsent, answers, "Omar", TODAY, cast.omar, NOW)


def send(cast, *, drill="sit-depth", value=2, n=1, **more):
    line = {
        "kind": "turn", "id": str(time_ordered_id(NOW, n)), "at": NOW.isoformat(),
        "child": str(cast.mai.uuid), "drill": drill, "surface": "sprung-dance-floor",
        "support": 0, "value": value, **more,
    }  # fmt: skip
    [answer] = take_lines(cast.meeting, cast.omar, "tablet 3", NOW, [line], 3, NOW)
    return answer.answer, answer.code


def wrong(*path_and_value):
    *path, last, value = path_and_value
    side = copy.deepcopy(SIT)
    at = side
    for name in path:
        at = at[name]
    if value is None:
        del at[last]
    else:
        at[last] = value
    return side


def test_both_the_suggestion_and_the_grade_that_was_given_are_kept(cast, yes):
    assert send(cast, value=2, side=SIT) == ("kept", "")
    kept = AttemptAngles.objects.get()
    assert (kept.attempt.value, kept.suggests) == (2, 3)
    assert (kept.picture, kept.twice, kept.spread) == ("sit", False, 0.04)
    assert kept.angles["knee"] == [112, 4.2]
    assert kept.joints == SIT["joints"]
    assert kept.chances == SIT["chances"]


def test_a_turn_without_angles_is_taken_as_ever(cast, yes):
    assert send(cast) == ("kept", "")
    assert not AttemptAngles.objects.exists()


@pytest.mark.parametrize(
    "side",
    [
        pytest.param("a picture", id="text"),
        pytest.param([], id="list"),
        pytest.param(wrong("kind", "bridge"), id="another drill's"),
        pytest.param(wrong("angles", "knee", None), id="an angle missing"),
        pytest.param(wrong("angles", "nose", [1, 1]), id="an angle more"),
        pytest.param(wrong("angles", "knee", [112]), id="no error"),
        pytest.param(wrong("angles", "knee", [112, -1]), id="error below 0"),
        pytest.param(wrong("angles", "knee", [1e9, 1]), id="no angle"),
        pytest.param(wrong("angles", "knee", ["112", 1]), id="text for a number"),
        pytest.param(wrong("angles", "knee", [True, 1]), id="true for a number"),
        pytest.param(wrong("angles", "knee", [float("nan"), 1]), id="not a number"),
        pytest.param(wrong("joints", "hip", [101, 0]), id="too far for a body"),
        pytest.param(wrong("joints", "hip", None), id="a joint missing"),
        pytest.param(wrong("spread", -0.1), id="spread below 0"),
        pytest.param(wrong("suggests", 4), id="no grade"),
        pytest.param(wrong("suggests", 2.0), id="no whole grade"),
        pytest.param(wrong("twice", 1), id="no truth"),
        pytest.param(wrong("chances", [0, 0, 1]), id="too few chances"),
        pytest.param(wrong("chances", [0, 0, 0, 0.5]), id="chances of less than one"),
    ],
)
def test_what_no_page_sends_is_refused_in_full_and_mended_without_it(cast, yes, side):
    assert send(cast, side=side) == ("refused", "bad-angles")
    assert not Attempt.objects.exists()
    kept = RejectedLine.objects.get()
    assert (kept.code, "sit-depth" in kept.body) == ("bad-angles", True)
    assert "bad-angles" in REASONS
    # As the tablet mends it: the same turn, without.
    assert send(cast, n=2) == ("kept", "")


def test_a_drill_without_such_a_picture_takes_none(cast, yes):
    answer = send(cast, drill="hollow-hold", value=12, side=SIT)
    assert answer == ("refused", "bad-angles")


def test_without_the_family_s_yes_the_turn_is_kept_and_the_angles_are_not(cast):
    assert send(cast, side=SIT) == ("kept", "")
    assert Attempt.objects.get().value == 2
    assert not AttemptAngles.objects.exists()


def test_the_joints_are_the_engine_s():
    assert {kind: frozenset(names) for kind, names in JOINTS.items()} == SIDE_JOINTS


def test_taps_made_twice_tell_the_studio_s_own_spread_once_there_are_enough(cast, yes):
    for n in range(1, 5):
        send(cast, n=n, side=SIT | {"twice": True, "spread": 0.03})
    assert studio_spread(NOW) == USUAL_SPREAD
    send(cast, n=6, side=SIT | {"spread": 5})
    send(cast, n=5, side=SIT | {"twice": True, "spread": 0.03})
    # The middle of two taps has half of the variance of one: √2 · 0.03.
    assert studio_spread(NOW) == pytest.approx(0.0424, abs=1e-4)


def test_a_pack_has_the_regions_of_the_drills_that_can_be_read(cast):
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    read = {d["key"]: d["rubric"]["picture"] for d in pack["drills"] if d["rubric"]}
    assert read == {"sit-depth": "sit", "block-line-held": "line", "bridge-line": "bridge"}
    last = [d["rubric"]["regions"][-1] for d in pack["drills"] if d["rubric"]]
    # It holds for all the rest.
    assert not any({"over", "under", "within"} & region.keys() for region in last)


def test_the_child_s_page_tells_what_was_suggested_beside_the_grade_that_was_given(
    client, cast, yes
):
    send(cast, value=2, side=SIT)
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        page = client.get(f"/children/{cast.mai.uuid}").text
    assert "From the side: grade 3, sure 9 in 10 (shin 2° ± 4, knee 112° ± 5, trunk 18°" in page
    assert "hips behind the heels 0.6 ± 0.1 shins" in page
