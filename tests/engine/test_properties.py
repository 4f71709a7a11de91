"""What must hold for every record, tried on drawn ones; and the fast engine against a slow one."""

import datetime

from hypothesis import assume, given
from hypothesis import strategies as st

from readiness.engine import clean_turns_to_open, lately, sureness
from readiness.engine.clean_rate import Decay, read_clean
from readiness.engine.evidence import Evidence
from readiness.engine.gates import CleanGate, ClearGate, FirstTurnGate, Record, SeenByTwoGate
from readiness.engine.levels import Support
from readiness.engine.tallies import Tally, in_order, tally_turns
from tests.support.engine import oracle
from tests.support.engine.plays import (
    ASSISTANT,
    FAULTS,
    LAST,
    SHIPPED_GATES,
    SHIPPED_RULES,
    SURFACES,
    clean_rules,
    days_of_turns,
    evidence_of,
    gates,
    outcomes,
    turn,
    turns_at,
)
from tests.support.engine.profiles import FEW, MANY, SOME
from tests.support.engine.records import LADDER, day, shuffled

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
    result = sureness(days, day(number), rate, own, calendar, together)
    assert abs(result - expected) < 1e-9
    assert 0 <= result <= 1


@given(days_of_turns, st.integers(0, LAST + 100), st.floats(0.05, 0.95))
def test_lately_is_what_the_slow_engine_says(days, number, rate):
    expected = oracle.sureness(each_turn(days), day(number), rate, oracle.Fading(own_days=2))
    assert abs(lately(days, day(number), rate) - expected) < 1e-9


@MANY
@given(st.data(), gates(), reading_days, surfaces)
def test_every_gate_reads_as_the_slow_engine_says(data, gate, number, surface):
    turns = [turn for drill in gate.drills for turn in data.draw(turns_at(drill))]
    expected = oracle.read_gate(gate, turns, day(number), LADDER, surface)
    result = gate.read_for_entry(evidence_of(turns), day(number), LADDER, surface)
    assert abs(result.value - expected.value) <= 1.1e-6
    if isinstance(gate, CleanGate):
        assume(abs(expected.value - gate.rule.certainty) > 2e-6)
    assert result.met is expected.met
    assert abs(result.progress - expected.progress) < 1e-5


@SOME
@given(st.data(), gates(), surfaces)
def test_a_gate_goes_stale_on_the_day_the_slow_engine_says(data, gate, surface):
    turns = data.draw(turns_at(gate.drill, last=10, most=20))
    result = gate.read(evidence_of(turns), day(10), LADDER, surface)
    assume(result.met)
    assert result.stale_on == oracle.stale_on(gate, turns, day(10), LADDER, surface)


# --- gates ---------------------------------------------------------------------------


@MANY
@given(st.data(), gates(), reading_days, surfaces)
def test_progress_is_one_if_and_only_if_met(data, gate, number, surface):
    evidence = evidence_of(data.draw(turns_at(gate.drill, most=20)))
    result = gate.read_for_entry(evidence, day(number), LADDER, surface)
    assert 0 <= result.progress <= 1
    assert (result.progress == 1) is result.met


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
    # With no turn at all there is no record yet that could be without a stop sign.
    assume(turns or not getattr(gate, "needs_turns", False))
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


# --- tallies -------------------------------------------------------------------------


@SOME
@given(st.data(), st.randoms(use_true_random=False))
def test_turns_tally_alike_in_whatever_order_they_arrive(data, rng):
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
    """Folding its child, drill and day again is enough."""
    turns = data.draw(turns_at("back-walkover", last=5, most=20))
    assume(turns)
    struck = data.draw(st.sampled_from(turns))
    remaining = [each for each in turns if each is not struck]
    others = [tally for tally in tally_turns(turns, LADDER.stops) if tally.day != struck.day]
    again = tally_turns([each for each in remaining if each.day == struck.day], LADDER.stops)
    assert sorted([*others, *again], key=tally_key) == tally_turns(remaining, LADDER.stops)
    for gate in SHIPPED_GATES:
        if gate.drill == "back-walkover":
            result = gate.read_for_entry(Evidence([*others, *again]), day(5), LADDER, SURFACES[1])
            never = gate.read_for_entry(evidence_of(remaining), day(5), LADDER, SURFACES[1])
            assert result == never


def tally_key(tally):
    return tally.day, tally.drill, tally.surface, tally.support, tally.author


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
    result = clean_turns_to_open(record, day(30), rule, days, memory)
    fading = oracle.Fading(hang_together=together)
    assert result == oracle.turns_to_open(each_turn(record), day(30), rule, days, fading)


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
