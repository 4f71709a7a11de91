"""What is kept from day to day tells the same as the whole record read from nothing."""

import copy
import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from readiness.engine import day_start
from readiness.engine.clean_rate import (
    Decay,
    DecayedCounts,
    decayed_counts,
    lately,
    read_clean,
    sureness,
)
from readiness.engine.evidence import Evidence, NotSummedUpError, Scope
from readiness.engine.gates import CleanRule
from readiness.engine.ladder import Ladder
from readiness.engine.reading import read_child
from readiness.engine.reading_json import as_json
from readiness.engine.replay import checkpoint
from readiness.engine.replay.days import replay
from readiness.engine.support import allowed_now
from readiness.engine.tallies import Tally, Turn, fault_counts, in_order, tally_turns
from tests.support.engine.plays import (
    CLASS_DAYS,
    Play,
    add_class,
    climbed,
    days_of_turns,
    small_content,
    with_new_rules,
)
from tests.support.engine.profiles import SOME
from tests.support.engine.records import day

# Rules that look back so little that weeks of a play are summed up.
SHORT = 12


def short_ladder() -> Ladder:
    practice = CleanRule(rate=0.6, certainty=0.7, days=2, clean=4, within=SHORT, fresh=SHORT)
    unspotted = CleanRule(rate=0.8, certainty=0.6, days=2, clean=6, within=SHORT, fresh=SHORT)
    content = copy.deepcopy(small_content(practice, unspotted, (4, 10)))
    parts = [part for stage in content["stage"] for part in stage.get("release", [])]
    gates = [g for each in [*content["stage"], *parts] for g in each.get("gate", [])]
    needs = [need for drill in content["drill"] for need in drill.get("needs", [])]
    for gate in [*gates, *needs]:
        if gate["kind"] != "clear":
            gate["within"] = SHORT
    content["way_back"] = {**content["way_back"], "stops_within": SHORT}
    content = with_new_rules(content)
    content["tap"] |= {"within": SHORT, "fresh": SHORT}
    return Ladder.from_content(content)


LADDER = short_ladder()


def near(result: Any, expected: Any) -> bool:
    """The same plain data; numbers that were rounded may differ in the last place."""
    if isinstance(expected, float) and isinstance(result, float):
        return abs(result - expected) <= 1.1e-6
    if isinstance(expected, dict):
        return result.keys() == expected.keys() and all(
            near(result[k], expected[k]) for k in result
        )
    if isinstance(expected, list):
        return len(result) == len(expected) and all(map(near, result, expected))
    return bool(result == expected)


def tallies_of(play: Play) -> list[Tally]:
    return tally_turns(play.turns, play.ladder.stops)


def warm_evidence(play: Play, start: checkpoint.Checkpoint) -> Evidence:
    before = start.summary
    tallies = [t for t in tallies_of(play) if t.day >= before.first_of(t.drill)]
    return Evidence(tallies, before, fault_counts(play.turns))


def stored(start: checkpoint.Checkpoint) -> checkpoint.Checkpoint:
    return checkpoint.from_data(json.loads(json.dumps(checkpoint.as_data(start))))


def told_at_start(read: Any, evidence: Evidence) -> Any:
    """What a pack tells of a child besides the reading."""
    state, ladder = read.state, LADDER
    gates = [
        day_start.gate_start(gate, stage, evidence, read.day, ladder, int)
        for stage in read.stages
        for gate in stage.stage.gates
        if gate.kind != "clear"
    ]
    drills = ladder.drills.values()
    support = [day_start.support_start(each, state, evidence, ladder) for each in drills]
    return json.loads(json.dumps([gates, support]))


@SOME
@given(
    st.sampled_from([0, 6, 9, 12, 16]),
    st.lists(CLASS_DAYS, min_size=1, max_size=8),
    st.sets(st.integers(0, 140), max_size=8),
)
def test_from_day_to_day_the_reading_is_that_of_the_whole_record(classes, days, looked_at):
    play = climbed(LADDER, classes)
    for class_day in days:
        add_class(play, class_day)
    start = None
    for number in sorted({*looked_at, play.number}):
        today = [turn for turn in play.turns if turn.day == day(number)]
        whole = play.evidence
        expected = read_child(whole, play.events, today, day(number), play.ladder_on)
        evidence = whole if start is None else warm_evidence(play, start)
        begun = None if start is None else start.state
        result = read_child(evidence, play.events, today, day(number), play.ladder_on, begun)
        assert result.state == expected.state
        assert near(as_json(result, "", 1), as_json(expected, "", 1))
        assert near(told_at_start(result, evidence), told_at_start(expected, whole))
        state = replay(whole, play.events, day(number), play.ladder_on)
        made = checkpoint.make_checkpoint(1, 0, state, evidence, LADDER)
        if made is not None:
            start = stored(made)
            the_support_of_the_day_needs_no_tally(play, start, whole, today)


def the_support_of_the_day_needs_no_tally(
    play: Play, start: checkpoint.Checkpoint, whole: Evidence, today: list[Turn]
) -> None:
    ordered = in_order(today)
    none = Evidence((), start.today)
    for at in range(len(ordered) + 1):
        for drill in LADDER.drills.values():
            done, surface = ordered[:at], LADDER.surfaces[3]
            result = allowed_now(drill, start.state, none, LADDER, surface, done)
            assert result == allowed_now(drill, start.state, whole, LADDER, surface, done)


def test_what_is_summed_up_is_not_empty_in_such_a_play():
    play = climbed(LADDER, 16)
    state = replay(Evidence(tallies_of(play)), play.events, day(play.number), play.ladder_on)
    start = checkpoint.make_checkpoint(1, 0, state, Evidence(tallies_of(play)), LADDER)
    assert start is not None
    assert start.summary.first > day(10)
    assert {"swing", "roll", "hold"} <= set(start.summary.drills)
    assert any(counts is not None for counts in start.summary.clean.values())
    assert any(counts is not None for counts in start.today.watched.values())


@given(days_of_turns, st.integers(0, 60), st.integers(60, 160), st.floats(0.05, 0.95))
def test_a_sum_is_read_later_as_its_days_are(days, cut, number, rate):
    """The two halvings are factors: a * 2 ** (-n / 8 - age / 84), whatever is summed first."""
    known = sorted({on: (on, n, k) for on, n, k in days}.values())
    old = [entry for entry in known if entry[0] < day(cut)]
    new = [entry for entry in known if entry[0] >= day(cut)]
    before = decayed_counts(old[2:], Decay(), decayed_counts(old[:2], Decay()))
    whole = sureness(known, day(number), rate)
    assert abs(sureness(new, day(number), rate, before=before) - whole) < 1e-12
    short = decayed_counts(old, Decay(days=2))
    parted = lately(new, day(number), rate, before=short)
    assert abs(parted - lately(known, day(number), rate)) < 1e-12


def test_a_sum_by_hand():
    """Ten of ten weigh 10 / 1.9; one later day and seven days on, 2 ** (-1/8 - 7/84) of it."""
    before = decayed_counts([(day(0), 10, 10)], Decay())
    assert isinstance(before, DecayedCounts)
    assert abs(before.clean - 10 / 1.9) < 1e-12
    assert (before.missed, before.last) == (0.0, day(0))
    rule = CleanRule(rate=0.8, certainty=0.8, days=1, clean=1)
    read = read_clean([(day(7), 1, 0)], day(7), rule, Decay(), before)
    a = 1 + 10 / 1.9 * 2 ** (-1 / 8 - 7 / 84)
    # I_x(b, a) with b = 2: 1 - (1 - x) ** a * (1 + a * x), and x = 1 - .8.
    by_hand = 1 - 0.8**a * (1 + a * 0.2)
    assert abs(read.sureness - by_hand) < 1e-6
    assert (read.clean_days, read.newest) == (0, None)


def test_what_was_not_summed_up_is_not_guessed():
    play = climbed(LADDER, 16)
    state = replay(Evidence(tallies_of(play)), play.events, day(play.number), play.ladder_on)
    start = checkpoint.make_checkpoint(1, 0, state, Evidence(tallies_of(play)), LADDER)
    assert start is not None
    evidence = warm_evidence(play, start)
    assert evidence.decayed_before("never-done", Scope()) is None
    for ask in (
        lambda: evidence.decayed_before("swing", Scope(graded=True, surface="nowhere")),
        lambda: evidence.decayed_since("swing", Scope(), day(1)),
        lambda: evidence.days_open("swing", day(play.number), day(2)),
    ):
        try:
            ask()
        except NotSummedUpError:
            continue
        raise AssertionError("it was guessed")
