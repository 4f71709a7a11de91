"""Consent to a coach's hands: without a yes nothing that is taught with a spotter, held or not."""

import datetime

import pytest

from readiness.engine.evidence import Evidence
from readiness.engine.replay.checkpoint import as_data, from_data, make_checkpoint
from readiness.engine.replay.days import replay
from readiness.engine.support import allowed_at_start
from readiness.engine.tallies import tally_turns
from tests.support.engine.records import LADDER, MAT, day, unspotted_walkover, with_stage

SPOTTED = {
    "kick-over-block", "kick-over-floor", "back-bend-raised", "back-walkover", "jump-back",
    "sit-and-reach", "barrel", "block-line-held", "handspring", "two-handsprings",
    "roundoff-handspring", "walkover-in-dance", "handspring-in-dance",
}  # fmt: skip


def drill_on(story, number, drill="back-walkover"):
    """What is allowed before the first turn of a day, also where support is not logged."""
    state = story.read(number).state
    return allowed_at_start(LADDER.drills[drill], state, LADDER, MAT)


def test_the_drills_that_are_taught_with_a_spotter():
    known = {key for key, drill in LADDER.drills.items() if drill.spotted}
    assert known >= SPOTTED
    still = {"hollow-hold", "front-support", "wall-handstand", "bridge-line", "sit-depth"}
    assert not known & (still | {"kick-to-handstand", "free-handstand", "wall-shrugs"})


@pytest.mark.parametrize("asked", [True, False])
def test_without_a_yes_it_is_closed_at_every_support_and_unspotted_too(asked):
    story = unspotted_walkover().happened(32, "consent-no", asked=asked)
    before, after = drill_on(story, 31), drill_on(story, 33)
    assert before.support == 0
    assert (after.support, after.causes) == (None, ("no-consent",))


def test_shapes_holds_and_wall_work_stay():
    story = unspotted_walkover().happened(32, "consent-no")
    for key, drill in LADDER.drills.items():
        if not drill.spotted:
            assert drill_on(story, 33, key) == drill_on(story, 31, key)


def test_a_no_counts_at_once_and_so_does_a_yes():
    story = unspotted_walkover().happened(32, "consent-no")
    assert drill_on(story, 32).causes == ("no-consent",)
    story.happened(33, "consent-yes")
    assert drill_on(story, 33).support == 3


def test_a_yes_after_a_no_begins_the_way_back_from_hands_on_at_all_that_was_open():
    story = unspotted_walkover().happened(32, "consent-no").happened(35, "consent-yes")
    for number in (35, 36):
        allowed = drill_on(story, number)
        assert (allowed.support, allowed.causes) == (3, ("consent-again",))
    backs = {back.drill for back in story.read(36).ways_back}
    assert "back-walkover" in backs
    # It is no re-check of the stage: nothing went wrong.
    assert story.state(36, "4") == "open"
    # The turns of the day itself do not count; those of the next class day do.
    story.did(35, "back-walkover", "111", support=3)
    assert drill_on(story, 36).support == 3
    story.did(37, "back-walkover", "111", support=3)
    assert drill_on(story, 38).support == 2


def test_a_yes_where_nobody_had_said_no_goes_on_as_before():
    story = unspotted_walkover().happened(32, "consent-no", asked=False)
    story.happened(35, "consent-yes")
    assert drill_on(story, 36).support == 0


def test_a_no_stays_a_no_when_its_season_is_over():
    story = unspotted_walkover().happened(32, "consent-no")
    story.happened(33, "consent-no", asked=False).happened(35, "consent-yes")
    assert drill_on(story, 36).support == 3


def test_before_anybody_was_asked_days_are_as_they_were():
    story = unspotted_walkover()
    plain = [story.read(number) for number in range(28, 33)]
    story.happened(33, "consent-no", asked=False)
    assert [story.read(number) for number in range(28, 33)] == plain


def test_an_answer_long_before_the_first_class_begins_no_record():
    told = with_stage(5, 400)
    told.events.append(told.events[0].__class__("consent-yes", day(-400), told.events[0].at, "c"))
    plain = with_stage(5, 400)
    told_state, plain_state = told.read(410).state, plain.read(410).state
    assert told_state.opened == plain_state.opened
    assert (told_state.consent, plain_state.consent) == ("yes", "")


def test_an_answer_is_known_on_the_first_day_of_all():
    story = with_stage(5, 400)
    story.events.append(
        story.events[0].__class__("consent-no", datetime.date.min, story.events[0].at, "c")
    )
    assert drill_on(story, 401, "barrel").causes == ("no-consent",)


def test_no_hands_tonight_is_for_that_day_alone_and_costs_nothing():
    story = unspotted_walkover().happened(32, "no-hands")
    tonight = drill_on(story, 32)
    assert (tonight.support, tonight.causes) == (None, ("no-hands",))
    assert drill_on(story, 33) == drill_on(unspotted_walkover(), 33)
    for key, drill in LADDER.drills.items():
        if not drill.spotted:
            assert drill_on(story, 32, key) == drill_on(unspotted_walkover(), 32, key)


def test_a_turn_done_all_the_same_keeps_the_drill_closed():
    story = unspotted_walkover().happened(32, "consent-no").did(33, "back-walkover", "1", support=0)
    assert story.allowed(33, "back-walkover") is None


def test_a_pause_and_what_hurts_are_said_first():
    story = unspotted_walkover().happened(32, "consent-no").happened(33, "pain", place="wrist")
    assert drill_on(story, 33).causes == ("pain",)
    assert drill_on(story.happened(34, "pause"), 35).causes == ("paused",)


def test_a_checkpoint_remembers_the_answer():
    story = unspotted_walkover().happened(32, "consent-no")
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    state = replay(evidence, story.events, day(40), lambda _: LADDER)
    kept = from_data(as_data(make_checkpoint(1, 2, state, evidence, LADDER)))
    assert kept.state.consent == "no"
    assert kept.state == state


@pytest.mark.parametrize(
    ("kind", "cause"), [("consent-no", "no-consent"), ("no-hands", "no-hands")]
)
def test_where_a_stop_sign_would_ask_for_hands_there_is_nothing_for_tonight(kind, cause):
    """Kicking to handstand is taught without a spotter, but a stop sign asks for hands."""
    story = with_stage(2).happened(31, kind) if kind == "consent-no" else with_stage(2)
    story.did(32, "kick-to-handstand", [3], support=0)
    if kind == "no-hands":
        story.happened(32, kind)
    assert story.allowed(32, "kick-to-handstand") == "unspotted"
    story.turns[-1] = story.turns[-1]._replace(caught=True)
    now = story.read(32).allowed("kick-to-handstand", MAT)
    assert (now.support, now.causes) == (None, (cause,))
    tomorrow = drill_on(story, 33, "kick-to-handstand")
    assert tomorrow.support == (None if kind == "consent-no" else 3)
