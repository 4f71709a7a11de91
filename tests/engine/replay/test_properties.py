"""What must hold of stages and states, day after day, on drawn records."""

import dataclasses
import datetime

from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.reading import score
from readiness.engine.reading_json import as_json
from readiness.engine.replay.days import replay, replay_days
from readiness.engine.replay.events import Event
from tests.support.engine import oracle
from tests.support.engine.plays import (
    SMALL,
    Play,
    at_start,
    evidence_of,
    named_waits,
    perfect_class,
    plays,
    turn,
)
from tests.support.engine.profiles import FEW, times
from tests.support.engine.records import LADDER, day, shuffled

ONE_DAY = datetime.timedelta(days=1)


# --- plays: stages and states -----------------------------------------------


def reading_data(play, number):
    """Everything that is shown of a child on a day, as plain data."""
    return as_json(play.read(number), "child", 1)


@FEW
@given(plays(), st.randoms(use_true_random=False), st.sampled_from([0, 1, 30]))
def test_the_order_of_arrival_never_matters(play, rng, later):
    number = play.number + later
    before, state = reading_data(play, number), play.state(number)
    mixed = Play(play.ladder, shuffled(play.turns, rng), shuffled(play.events, rng))
    assert reading_data(mixed, number) == before
    assert mixed.state(number) == state


@FEW
@given(plays(), st.integers(1, 40))
def test_days_without_a_record_only_pass(play, later):
    """Folding every day of the calendar comes to the same as folding those that count."""
    until = play.number + later
    first = nothing_on(0)
    every = [nothing_on(number) for number in range(1, until)]
    result = replay(play.evidence, [*play.events, first, *every], day(until), play.ladder_on)
    play.events.append(first)
    assert result == play.state(until)


def nothing_on(number):
    """Something on record that changes nothing."""
    return Event("exception", day(number), at_start(number), f"n{number}", stage="none")


@FEW
@given(plays())
def test_no_stage_opens_unless_all_its_gates_are_met_that_day(play):
    known = set()
    before = None
    for state in replay_days(play.evidence, play.events, day(play.number + 30), play.ladder_on):
        for code in sorted(state.opened.keys() - known):
            check_opening(play, code, state, before)
        known = set(state.opened)
        before = dataclasses.replace(
            state, opened=dict(state.opened), exceptions=set(state.exceptions)
        )


def check_opening(play, code, state, before):
    opening, stage = state.opened[code], play.ladder.stage[code]
    if opening.how == "start":
        assert not stage.gates
        return
    on = opening.since - datetime.timedelta(days=1)
    assert before.day == on
    if opening.how == "placing":
        assert not stage.sign_off
        assert any(event.kind == "place" and event.day == on for event in play.events)
        return
    assert (opening.how == "signature") is stage.sign_off
    gates_met = all(
        oracle.read_gate(gate, play.turns, on, play.ladder, opening.surface).met
        for gate in stage.gates
    )
    excepted = stage.exception_for if code in state.exceptions else ()
    needs_open = all(need in state.opened or need in excepted for need in stage.needs)
    if stage.sign_off:
        assert any(
            (event.kind, event.stage, event.day) == ("sign", code, on) for event in play.events
        )
        if not (gates_met and needs_open):
            causes = [cause.code for cause in state.rechecks(code)]
            assert "evidence-changed" in causes
    else:
        assert gates_met
        assert needs_open


@FEW
@given(st.integers(2, 6), st.integers(1, 3), st.integers(1, 60))
def test_a_last_gate_met_late_opens_nothing_on_old_evidence(classes, turns_a_day, wait):
    """All of stage 3 is met but the second day of hops, which comes ``wait`` days later. Its
    clean gate is at a drill that no other rule watches; the skill itself is done all along."""
    rolls = dataclasses.replace(SMALL.stage["3"].gates[0], drill="roll")
    third = dataclasses.replace(SMALL.stage["3"], gates=(rolls, *SMALL.stage["3"].gates[1:]))
    stages = tuple(third if each.code == "3" else each for each in SMALL.stages)
    ladder = dataclasses.replace(SMALL, stages=stages)
    done = [(number, "hold", 25) for number in (0, 1)] + [(0, "roll", True)] * 3
    last = 7 * classes
    for number in range(7, last + 1, 7):
        done += [(number, "roll", True)] * turns_a_day
    done += [(number, "swing", True) for number in range(7, last + wait, 7)]
    done += [(last, "hop", 5), (last + wait, "hop", 5)]
    turns = [turn(at, *each) for at, each in enumerate(done)]
    evening = day(last + wait)
    state = replay(evidence_of(turns, ladder), [], evening + ONE_DAY, lambda _: ladder)
    met = all(oracle.read_gate(g, turns, evening, ladder).met for g in third.gates)
    assert "2" in state.opened
    assert ("3" in state.opened) is met
    assert wait <= 28 or not met


@FEW
@given(plays(), st.sampled_from([0, 1, 30]))
def test_the_score_is_100_if_and_only_if_all_gates_are_met(play, later):
    for stage in play.read(play.number + later).stages:
        assert (score(stage.gates) == 100) is all(gate.met for gate in stage.gates)
        assert 0 <= score(stage.gates) <= 100
        assert (stage.holding is None) is (score(stage.gates) == 100)
        assert stage.score == (None if stage.waits_for else score(stage.gates))


@given(st.lists(st.integers(0, 99) | st.just(100), min_size=1, max_size=9))
def test_a_score_is_the_mean_rounded_down(hundredths):
    class Read:
        def __init__(self, progress):
            self.progress = progress

    assert score([Read(each / 100) for each in hundredths]) == sum(hundredths) // len(hundredths)


# --- nobody is left without a way back -----------------------------------------------


@FEW
@given(plays(most=6))
def test_from_every_state_clean_allowed_turns_lead_back(play):
    back_up(play, classes=60)


@times(0.03)
@given(plays(ladder=LADDER, most=3))
def test_the_shipped_ladder_leads_back_too(play):
    back_up(play, classes=75)


def back_up(play, classes):
    """A perfect child, and people who say yes to what waits for them: all opens in the end."""
    for _ in range(classes):
        reading = perfect_class(play)
        if all(stage.state == "open" for stage in reading.stages) and not reading.ways_back:
            return
    stuck = [stage.stage.code for stage in reading.stages if stage.state != "open"]
    stuck += [back.drill for back in reading.ways_back]
    raise AssertionError(f"stuck: {stuck}, waiting for {list(named_waits(reading))}")
