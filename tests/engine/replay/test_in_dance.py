"""A skill in a dance goes to unspotted by a signature of its own, and never asks for less support
than the skill itself. Common practice, no source."""

import pytest

from readiness.engine.levels import Support
from readiness.engine.support import allowed_at_start, base
from tests.support.engine.records import HARD, LADDER, MAT, Story, day, unspotted_walkover

WALKOVER, DANCE, CODE = "back-walkover", "walkover-in-dance", "4/walkover-in-dance"


def danced(surface: str = MAT) -> Story:
    """Stage 4 is signed; then five classes in which the dance is clean, seen by two."""
    story = unspotted_walkover()
    for number in (35, 42, 49, 56, 63):
        story.did(number, WALKOVER, "1", support=1)
        if number == 35:
            story.did(number, DANCE, "11111", support=3, surface=surface)
        story.did(number, DANCE, "111", support=1, surface=surface)
        story.did(number, DANCE, "111", support=1, surface=surface, author=2)
        story.happened(number, "step", drill=WALKOVER, support=1)
        story.happened(number, "step", drill=DANCE, support=1)
    return story


def signed(surface: str = MAT) -> Story:
    return danced(surface=surface).happened(63, "sign", stage=CODE, surface=surface, director=True)


def allowed_after_first(story: Story, number: int, surface: str = MAT) -> str | None:
    """Once the first turn of the day was clean with a coach beside."""
    for drill in (WALKOVER, DANCE):
        story.did(number, drill, "1", support=1, surface=surface)
    return story.allowed(number, DANCE, surface)


def test_a_signature_for_the_skill_takes_no_hands_away_in_the_dance():
    story = danced()
    assert story.state(64, "4") == "open"
    assert story.read(64).stage(CODE).state == "for-review"
    assert allowed_after_first(story, 70) == "standing-by"
    assert story.allowed(70, WALKOVER) == "unspotted"


def test_with_a_signature_of_its_own_it_is_unspotted_after_the_first_turn():
    story = signed()
    assert story.state(64, CODE) == "open"
    assert story.allowed(70, DANCE) == "standing-by"
    assert allowed_after_first(story, 70) == "unspotted"


def test_only_on_the_floor_it_was_signed_for():
    story = signed().happened(64, "sign", stage="4", surface=HARD, director=True)
    for drill in (WALKOVER, DANCE):
        story.did(65, drill, "111", support=1, surface=HARD)
    assert allowed_after_first(story, 70, HARD) == "standing-by"
    state = story.read(70).state
    assert base(LADDER.drills[WALKOVER], state, LADDER, HARD) == Support.UNSPOTTED
    assert base(LADDER.drills[DANCE], state, LADDER, HARD) == Support.STANDING_BY


def test_on_a_floor_where_the_skill_itself_is_not_signed_it_is_not_unspotted():
    story = signed(surface=HARD).did(65, WALKOVER, "111", support=1, surface=HARD)
    assert story.state(64, CODE) == "open"
    assert allowed_after_first(story, 70, HARD) == "standing-by"
    assert story.allowed(70, WALKOVER, HARD) == "standing-by"
    dance, state = LADDER.drills[DANCE], story.read(70).state
    assert base(dance, state, LADDER, HARD) == Support.UNSPOTTED
    assert allowed_at_start(dance, state, LADDER, HARD).support == Support.STANDING_BY


def test_the_stage_comes_first():
    story = danced().happened(40, "send-back", stage="4", director=True)
    release = story.read(64).stage(CODE)
    assert (release.state, release.waits_for) == ("closed", ("4",))


def test_a_stop_sign_in_the_dance_is_a_re_check_of_the_dance_alone():
    story = signed().did(70, DANCE, "0", support=1, faults=("arms-give",))
    assert story.causes(71, CODE) == ["stop-sign"]
    assert story.causes(71, "4") == []
    assert story.allowed(71, DANCE) == "hands-on"
    assert story.allowed(71, WALKOVER) == "standing-by"


def test_a_stop_sign_at_the_skill_brings_hands_back_in_the_dance():
    story = signed()
    assert allowed_after_first(story, 70) == "unspotted"
    story.did(70, WALKOVER, "0", support=0, faults=("half-hearted",))
    assert story.allowed(70, DANCE) == "hands-on"
    assert story.allowed(77, DANCE) == "hands-on"


def test_so_does_an_absence_from_the_skill():
    story = signed()
    for number in range(70, 99, 7):
        story.did(number, DANCE, "11", support=1)
    # The last walkover was on day 63.
    assert story.allowed(63 + 28, WALKOVER) == "standing-by"
    assert allowed_after_first(signed(), 63 + 28) == "unspotted"
    assert story.allowed(63 + 29, WALKOVER) == "hands-on"
    assert story.allowed(63 + 29, DANCE) == "hands-on"


@pytest.mark.parametrize("kind", ["pause", "head-knock"])
def test_a_pause_and_a_head_knock_end_it(kind):
    story = signed().happened(69, kind)
    assert story.allowed(70, DANCE) is None


def test_a_stage_that_is_closed_takes_the_release_along():
    story = signed().happened(64, "send-back", stage="4", director=True)
    assert story.allowed(65, DANCE) is None
    story.happened(66, "sign", stage="4", surface=MAT, director=True)
    assert story.state(67, "4") == "open"
    assert story.state(67, CODE) in ("closed", "for-review")
    assert allowed_after_first(story, 70) == "standing-by"


def test_a_release_that_is_closed_leaves_the_stage_open():
    story = signed().happened(64, "send-back", stage=CODE, director=True)
    assert (story.state(65, "4"), story.state(65, CODE)) == ("open", "closed")
    assert allowed_after_first(story, 70) == "standing-by"
    assert story.read(70).stage("4").opening.since == day(29)
