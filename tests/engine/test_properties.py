"""What must hold for every record, tried on drawn ones; and the fast engine against a slow one."""

import dataclasses
import datetime

from hypothesis import assume, given
from hypothesis import strategies as st

from readiness.engine import clean_turns_to_open, lately, sureness
from readiness.engine.clean_rate import Decay, read_clean
from readiness.engine.evidence import Evidence
from readiness.engine.gates import CleanGate, ClearGate, FirstTurnGate, Record, SeenByTwoGate
from readiness.engine.levels import Support
from readiness.engine.reading import as_json, score
from readiness.engine.replay.days import replay, replay_days
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import Cause
from readiness.engine.support import allowed_now
from readiness.engine.tallies import Tally, in_order, tally_turns
from tests.support.engine import oracle
from tests.support.engine.plays import (
    ASSISTANT,
    CLASS_DAYS,
    FAULTS,
    LAST,
    SHIPPED_GATES,
    SHIPPED_RULES,
    SMALL,
    SURFACES,
    Play,
    add_class,
    clean_rules,
    days_of_turns,
    during_day,
    evidence_of,
    gates,
    named_waits,
    outcomes,
    perfect_class,
    plays,
    turn,
    turns_at,
)
from tests.support.engine.profiles import FEW, MANY, SOME, times
from tests.support.engine.records import LADDER, day

ONE_DAY = datetime.timedelta(days=1)


surfaces = st.sampled_from(SURFACES)
reading_days = st.integers(LAST - 20, LAST + 40)


# --- the slow engine -----------------------------------------------------------------


def each_turn(days):
    return [(on, at < clean) for on, turns, clean in days for at in range(turns)]


@MANY
@given(
    days_of_turns,
    st.integers(0, LAST + 100),
    st.floats(0.01, 0.99),
    st.floats(0.5, 40),
    st.floats(1, 400),
    st.floats(0, 1),
)
def test_sureness_is_what_the_slow_engine_says(days, number, rate, own, calendar, together):
    fading = oracle.Fading(own, calendar, together)
    expected = oracle.sureness(each_turn(days), day(number), rate, fading)
    found = sureness(days, day(number), rate, own, calendar, together)
    assert abs(found - expected) < 1e-9
    assert 0 <= found <= 1


@given(days_of_turns, st.integers(0, LAST + 100), st.floats(0.05, 0.95))
def test_lately_is_what_the_slow_engine_says(days, number, rate):
    expected = oracle.sureness(each_turn(days), day(number), rate, oracle.Fading(own_days=2))
    assert abs(lately(days, day(number), rate) - expected) < 1e-9


@MANY
@given(st.data(), gates(), reading_days, surfaces)
def test_every_gate_reads_as_the_slow_engine_says(data, gate, number, surface):
    turns = data.draw(turns_at(gate.drill))
    expected = oracle.read_gate(gate, turns, day(number), LADDER, surface)
    found = gate.read_for_entry(evidence_of(turns), day(number), LADDER, surface)
    assert abs(found.value - expected.value) <= 1.1e-6
    if isinstance(gate, CleanGate):
        assume(abs(expected.value - gate.rule.certainty) > 2e-6)
    assert found.met is expected.met
    assert abs(found.progress - expected.progress) < 1e-5


@SOME
@given(st.data(), gates(), surfaces)
def test_a_gate_goes_stale_on_the_day_the_slow_engine_says(data, gate, surface):
    turns = data.draw(turns_at(gate.drill, last=10, most=20))
    found = gate.read(evidence_of(turns), day(10), LADDER, surface)
    assume(found.met)
    assert found.stale_on == oracle.stale_on(gate, turns, day(10), LADDER, surface)


# --- gates ---------------------------------------------------------------------------


@MANY
@given(st.data(), gates(), reading_days, surfaces)
def test_progress_is_one_if_and_only_if_met(data, gate, number, surface):
    evidence = evidence_of(data.draw(turns_at(gate.drill, most=20)))
    found = gate.read_for_entry(evidence, day(number), LADDER, surface)
    assert 0 <= found.progress <= 1
    assert (found.progress == 1) is found.met


@MANY
@given(st.data(), gates(), reading_days, st.integers(1, 400), surfaces)
def test_waiting_never_opens_a_gate(data, gate, number, wait, surface):
    turns = data.draw(turns_at(gate.drill, most=20))
    evidence = evidence_of(turns)
    waited = Record(evidence, LADDER, day(number + wait), day(number), surface)
    if gate.read_record(waited).met:
        before = gate.read_for_entry(evidence, day(number), LADDER, surface)
        # A clear gate asks for days since the last stop sign, and for nothing else that waits.
        waits = isinstance(gate, ClearGate) and before.value >= gate.clean
        assert before.met or waits


@given(st.data(), clean_rules(), st.integers(0, 200))
def test_waiting_never_opens_a_clean_gate_with_much_behind_it(data, rule, wait):
    days = data.draw(
        st.lists(st.tuples(st.integers(0, 20), st.integers(1, 40), st.floats(0, 1)), max_size=20)
    )
    record = [(day(number), n, round(n * share)) for number, n, share in days]
    if not read_clean(record, day(20), rule).met:
        assert not read_clean(record, day(20 + wait), rule).met


@MANY
@given(st.data(), st.sampled_from(SHIPPED_GATES), surfaces, st.booleans())
def test_a_clean_turn_never_lowers_progress_on_its_day(data, gate, surface, is_first):
    turns = data.draw(turns_at(gate.drill, most=20))
    number = data.draw(st.integers(0, LAST))
    outcome = (
        True if LADDER.drills[gate.drill].measure == "clean" else data.draw(outcomes(gate.drill))
    )
    support = data.draw(st.integers(0, int(getattr(gate, "support", Support.HANDS_ON))))
    harder = [each for each in SURFACES if LADDER.rank(each) >= LADDER.rank(surface)]
    author = data.draw(st.sampled_from([1, 2, 3]))
    about = outcome, support, data.draw(st.sampled_from(harder)), author
    added = turn(-1 if is_first else 9999, number, gate.drill, *about)
    before = gate.read_for_entry(evidence_of(turns), day(number), LADDER, surface)
    after = gate.read_for_entry(evidence_of([*turns, added]), day(number), LADDER, surface)
    assert after.progress >= before.progress


@MANY
@given(days_of_turns, clean_rules(), st.integers(1, 15), st.integers(0, 15))
def test_a_clean_turn_more_on_a_day_with_turns_never_lowers_any_rule(days, rule, turns, clean):
    """With any rule; a first turn of a day also makes the days before fade (see decisions)."""
    today = (day(LAST), turns, min(turns, clean))
    before = read_clean([*days, today], day(LAST), rule)
    after = read_clean([*days, today, (day(LAST), 1, 1)], day(LAST), rule)
    assert after.progress >= before.progress
    assert after.sureness >= before.sureness


@MANY
@given(
    st.data(),
    gates(),
    surfaces,
    st.integers(0, 3),
    surfaces,
    st.sampled_from([1, 2, ASSISTANT]),
    st.booleans(),
)
def test_a_turn_that_is_not_clean_never_raises_progress(
    data, gate, surface, support, on_surface, author, is_first
):
    assume(LADDER.drills[gate.drill].measure == "clean")
    turns = data.draw(turns_at(gate.drill, most=20))
    number = data.draw(st.integers(0, LAST))
    faults = data.draw(st.sampled_from([(), *((fault,) for fault in FAULTS)]))
    count = -1 if is_first else 9999
    missed = turn(count, number, gate.drill, False, support, on_surface, author, faults)
    before = gate.read_for_entry(evidence_of(turns), day(number), LADDER, surface)
    after = gate.read_for_entry(evidence_of([*turns, missed]), day(number), LADDER, surface)
    assert after.progress <= before.progress
    assert before.met or not after.met


@MANY
@given(st.data(), st.sampled_from(SHIPPED_GATES), surfaces)
def test_giving_more_support_to_a_clean_turn_never_raises_progress(data, gate, surface):
    turns = data.draw(turns_at(gate.drill, most=20))
    clean = [each for each in turns if each.clean and each.support < Support.HANDS_ON]
    assume(clean)
    chosen = data.draw(st.sampled_from(clean))
    more = data.draw(st.integers(chosen.support + 1, 3))
    helped = [each._replace(support=more) if each is chosen else each for each in turns]
    before = gate.read_for_entry(evidence_of(turns), chosen.day, LADDER, surface)
    after = gate.read_for_entry(evidence_of(helped), chosen.day, LADDER, surface)
    assert after.progress <= before.progress


@MANY
@given(st.data(), gates(), reading_days, surfaces)
def test_a_turn_on_an_easier_surface_is_worth_no_more(data, gate, number, surface):
    """Moving a sight, or a first turn, to an easier surface never meets a gate."""
    assume(isinstance(gate, SeenByTwoGate | FirstTurnGate))
    turns = data.draw(turns_at(gate.drill))
    easier = [each._replace(surface=SURFACES[0]) for each in turns]
    before = gate.read_for_entry(evidence_of(turns), day(number), LADDER, surface)
    after = gate.read_for_entry(evidence_of(easier), day(number), LADDER, surface)
    assert after.progress <= before.progress


# --- the fold of turns ---------------------------------------------------------------


@SOME
@given(st.data(), st.randoms(use_true_random=False))
def test_turns_fold_alike_in_whatever_order_they_arrive(data, rng):
    turns = [
        each
        for drill in ("back-walkover", "bridge-line")
        for each in data.draw(turns_at(drill, last=3))
    ]
    assert tally_turns(shuffled(turns, rng), LADDER.stops) == tally_turns(turns, LADDER.stops)


@SOME
@given(st.data())
def test_each_figure_of_a_tally_is_counted_turn_by_turn(data):
    turns = [
        each
        for drill in ("back-walkover", "bridge-line")
        for each in data.draw(turns_at(drill, last=3, most=12))
    ]
    faults = st.lists(st.sampled_from(sorted(LADDER.stops)), max_size=3, unique=True).map(tuple)
    turns = [
        each._replace(faults=data.draw(faults), caught=data.draw(st.booleans())) for each in turns
    ]
    tallies = tally_turns(turns, LADDER.stops)
    assert [tally_key(tally) for tally in tallies] == sorted(
        {(each.day, each.drill, each.surface, each.support, each.author) for each in turns}
    )
    for tally in tallies:
        day_turns = in_order(t for t in turns if (t.day, t.drill) == (tally.day, tally.drill))
        own = [t for t in day_turns if tally_key(t) == tally_key(tally)]
        values = [t.value for t in own if t.value is not None]
        graded = sorted((t.value for t in own if t.graded and t.value is not None), reverse=True)
        assert tally == Tally(
            *tally[:5],
            turns=len(own),
            clean=sum(t.clean is True for t in own),
            graded=sum(t.graded for t in own),
            graded_clean=sum(t.graded and t.clean is True for t in own),
            best=max(values, default=None),
            best_graded=graded[0] if graded else None,
            second_graded=graded[1] if len(graded) > 1 else None,
            total=sum(values),
            stop_signs=sum(is_stop_sign(t, day_turns) for t in own),
            first_at=own[0].at,
            first_id=own[0].id,
            first_clean=own[0].clean,
            first_graded=own[0].graded,
        )


def is_stop_sign(turn, day_turns):
    """As the ladder says it, of one turn among those of the day at the drill."""
    until = day_turns[: day_turns.index(turn) + 1]
    times_seen = {fault: sum(fault in each.faults for each in until) for fault in turn.faults}
    says = {fault: LADDER.stops[fault] for fault in turn.faults}
    return turn.caught or any(
        says[fault] == "yes"
        or (says[fault] == "second" and times_seen[fault] > 1)
        or (says[fault] == "unheld" and turn.support < 2)
        for fault in turn.faults
    )


@SOME
@given(st.data())
def test_a_struck_turn_is_as_if_it_had_never_been_logged(data):
    """Folding its child, drill and day anew is enough."""
    turns = data.draw(turns_at("back-walkover", last=5, most=20))
    assume(turns)
    struck = data.draw(st.sampled_from(turns))
    kept = [each for each in turns if each is not struck]
    others = [tally for tally in tally_turns(turns, LADDER.stops) if tally.day != struck.day]
    anew = tally_turns([each for each in kept if each.day == struck.day], LADDER.stops)
    assert sorted([*others, *anew], key=tally_key) == tally_turns(kept, LADDER.stops)
    for gate in SHIPPED_GATES:
        if gate.drill == "back-walkover":
            found = gate.read_for_entry(Evidence([*others, *anew]), day(5), LADDER, SURFACES[1])
            never = gate.read_for_entry(evidence_of(kept), day(5), LADDER, SURFACES[1])
            assert found == never


def tally_key(tally):
    return tally.day, tally.drill, tally.surface, tally.support, tally.author


def shuffled(items, rng):
    mixed = list(items)
    rng.shuffle(mixed)
    return mixed


# --- the promise ---------------------------------------------------------------------

short_records = st.lists(
    st.tuples(st.integers(0, 35), st.integers(1, 6), st.integers(0, 6)), max_size=6
).map(lambda days: [(day(number), n, min(k, n)) for number, n, k in days])
promise_rules = st.one_of(st.sampled_from(SHIPPED_RULES), clean_rules())


@FEW
@given(
    short_records,
    promise_rules,
    st.lists(st.integers(30, 80), max_size=4, unique=True),
    st.sampled_from([0.0, 0.1, 0.5]),
)
def test_the_promise_is_the_smallest_number_there_is(record, rule, coming, together):
    memory = Decay(day_correlation=together)
    days = [day(number) for number in coming]
    found = clean_turns_to_open(record, day(30), rule, days, memory)
    fading = oracle.Fading(hang_together=together)
    assert found == oracle.turns_to_open(each_turn(record), day(30), rule, days, fading)


@SOME
@given(
    short_records,
    promise_rules,
    st.lists(st.integers(25, 120), min_size=1, max_size=14, unique=True),
)
def test_the_promised_turns_open_the_gate_and_one_fewer_do_not(record, rule, coming):
    days = [day(number) for number in coming]
    promise = clean_turns_to_open(record, day(30), rule, days)
    assume(promise)
    turns, count = promise
    known = [entry for entry in record if entry[0] <= day(30)]
    ahead = sorted(on for on in days if on >= day(30))[:count]
    if turns == 0:
        assert count == 0
        assert read_clean(known, day(30), rule).met
        return
    assert count <= turns <= 15 * count
    assert read_clean([*known, *dealt(turns, ahead)], ahead[-1], rule).met
    assert not read_clean([*known, *dealt(turns - 1, ahead)], ahead[-1], rule).met


def dealt(turns, days):
    """Clean turns, as evenly as can be, earlier days first."""
    return [(days[at % len(days)], 1, 1) for at in range(turns)]


# --- plays: stages, states and support -----------------------------------------------


def told(play, number):
    """Everything that is shown of a child on a day, as plain data."""
    return as_json(play.read(number), "child", 1)


@FEW
@given(plays(), st.randoms(use_true_random=False), st.sampled_from([0, 1, 30]))
def test_the_order_of_arrival_never_matters(play, rng, later):
    number = play.number + later
    before, state = told(play, number), play.state(number)
    mixed = Play(play.ladder, shuffled(play.turns, rng), shuffled(play.events, rng))
    assert told(mixed, number) == before
    assert mixed.state(number) == state


@FEW
@given(plays(), st.integers(1, 40))
def test_days_without_a_record_only_pass(play, later):
    """Folding every day of the calendar comes to the same as folding those that count."""
    until = play.number + later
    first = nothing_on(0)
    every = [nothing_on(number) for number in range(1, until)]
    found = replay(play.evidence, [*play.events, first, *every], day(until), play.ladder_on)
    play.events.append(first)
    assert found == play.state(until)


def nothing_on(number):
    """Something on record that changes nothing."""
    return Event("exception", day(number), at_start(number), f"n{number}", stage="none")


def at_start(number):
    return datetime.datetime.combine(day(number), datetime.time(), datetime.UTC)


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
        assert (stage.score == 100) is all(gate.met for gate in stage.gates)
        assert 0 <= stage.score <= 100
        assert (stage.holding is None) is (stage.score == 100)


@given(st.lists(st.integers(0, 99) | st.just(100), min_size=1, max_size=9))
def test_a_score_is_the_mean_rounded_down(hundredths):
    class Read:
        def __init__(self, progress):
            self.progress = progress

    assert score([Read(each / 100) for each in hundredths]) == sum(hundredths) // len(hundredths)


@SOME
@given(plays(), CLASS_DAYS)
def test_support_allowed_never_falls_within_a_day(play, class_day):
    add_class(play, class_day)
    number = play.number
    moments = sorted(
        [each.at for each in play.turns if each.day == day(number)]
        + [event.at for event in play.events if event.day == day(number)]
    )
    before = {}
    for moment in [at_start(number), *moments]:
        state = during_day(play, number, moment)
        turns = [each for each in play.turns if each.day == day(number) and each.at <= moment]
        for drill in play.ladder.drills.values():
            for surface in SURFACES:
                now = allowed_now(drill, state, play.evidence, play.ladder, surface, turns)
                last = before.get((drill.key, surface), now)
                fell_by_rule = last.causes == ("first-turn",) and any(
                    each.drill == drill.key for each in turns
                )
                assert now.amount >= last.amount or fell_by_rule
                before[drill.key, surface] = now


@SOME
@given(plays(), CLASS_DAYS)
def test_support_allowed_is_never_less_than_any_rule_asks(play, class_day):
    add_class(play, class_day)
    number = play.number
    state = during_day(play, number, at_start(number + 1))
    turns = [each for each in play.turns if each.day == day(number)]
    for drill in play.ladder.drills.values():
        for surface in SURFACES:
            now = allowed_now(drill, state, play.evidence, play.ladder, surface, turns)
            for rule, least in asked(play, drill, surface, state, number):
                assert now.amount >= least, rule


NOT_AT_ALL = 4


def asked(play, drill, surface, state, number):
    """(rule, least support) of each rule by itself, from the raw record."""
    ladder, opened, today = play.ladder, state.opened, day(number)
    if paused_by_the_record(play, number):
        yield "paused", NOT_AT_ALL
    if drill.stage not in opened:
        yield "closed", NOT_AT_ALL
        return
    told_today = [e.place for e in play.events if e.kind == "pain" and e.day == today]
    if any(ladder.pains[place].bars & drill.loads for place in told_today):
        yield "pain", NOT_AT_ALL
    if not drill.allow:
        return
    table = [step.support for step in drill.allow if step.stage in opened]
    yield "the table", min(table)
    own = [each for each in play.turns if each.drill == drill.key]
    earlier = [each for each in own if each.day < today]
    of_today = [each for each in own if each.day == today]
    if drill.taught_by_hand and earlier and (today - max(t.day for t in earlier)).days > 28:
        yield "away", Support.HANDS_ON
    since = state.drills[drill.key].open_since
    if since is None:
        yield "needs", NOT_AT_ALL
        return
    for stop in oracle.stop_signs(own, ladder):
        later = [t for t in own if t.day > stop.day and (t.clean or t.value is not None)]
        gone_by_tomorrow = [t for t in later if t.day < today]
        if stop.day >= since and len(gone_by_tomorrow) < ladder.way_back.clean:
            yield "stop sign", Support.HANDS_ON
    for step in drill.allow:
        if step.signed_surface and not of_today:
            yield "first turn", Support.STANDING_BY
        if step.signed_surface and not signed_for(play, step.stage, surface, today):
            yield "no signature", Support.STANDING_BY
        if step.tap and not tapped_or_signed(play, drill, step, today):
            yield "no tap", step.support + 1
        if step.after_days and len({t.day for t in earlier}) < step.after_days:
            yield "first days", step.support + 1


def paused_by_the_record(play, number):
    """By the pauses, lifts and sore places told, in their order; a lift ends it tomorrow."""
    paused, sore = False, []
    for event in sorted(play.events, key=lambda each: (each.at, each.id)):
        if event.day > day(number):
            continue
        if event.kind == "lift" and event.day < day(number):
            paused, sore = False, []
        if event.kind == "pause":
            paused = True
        if event.kind == "pain":
            again = any(
                place == event.place and 0 < (event.day - on).days <= 21 for on, place in sore
            )
            paused = paused or again or event.place in ("head", "neck")
            sore.append((event.day, event.place))
    return paused


def signed_for(play, stage, surface, today):
    """A signature before today for this surface or a harder one, not sent back since."""
    signed = False
    for event in sorted(play.events, key=lambda each: (each.at, each.id)):
        if event.stage != stage or event.day > today:
            continue
        if event.kind == "sign" and event.day < today:
            signed = signed or play.ladder.rank(event.surface) >= play.ladder.rank(surface)
        if event.kind == "send-back":
            signed = False
    return signed


def tapped_or_signed(play, drill, step, today):
    taps = [
        event
        for event in play.events
        if (event.kind, event.drill) == ("step", drill.key) and event.day < today
    ]
    signatures = [event for event in play.events if event.kind == "sign" and event.day < today]
    return any(tap.support == step.support for tap in taps) or bool(signatures)


@SOME
@given(plays(), CLASS_DAYS)
def test_what_a_day_ends_with_is_what_the_next_begins_with(play, class_day):
    """A fall that stands at the day's end asks for as much the next morning."""
    add_class(play, class_day)
    evening, morning = play.read(play.number), play.state(play.number + 1)
    for each in evening.support:
        stops = [cause for cause in each.allowed.falls if cause.code == "stop-sign"]
        drill = play.ladder.drills[each.drill]
        if not stops or drill.stage not in morning.opened or morning.paused_since:
            continue
        next_day = allowed_now(drill, morning, play.evidence, play.ladder, each.surface)
        assert next_day.amount >= Support.HANDS_ON


@SOME
@given(plays(), CLASS_DAYS)
def test_lately_asks_for_one_step_whatever_falls(play, class_day):
    """Falls of one drill on one day ask for the same on every surface, then and tomorrow."""
    add_class(play, class_day)
    evening = play.read(play.number)
    by_drill = {}
    for each in evening.support:
        for cause in each.allowed.falls:
            if cause.code == "lately" and not play.ladder.drills[each.drill].key.endswith("dance"):
                by_drill.setdefault(each.drill, set()).add(cause.asks)
    for drill, asks in by_drill.items():
        assert len(asks) == 1
        back = play.state(play.number + 1).way_back(drill)
        lately_tomorrow = [c for c in back.causes if lately_of(c, play)] if back else []
        assert all(cause.asks in asks for cause in lately_tomorrow)


def lately_of(cause: Cause, play) -> bool:
    return cause.code == "lately" and cause.day == day(play.number)


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
