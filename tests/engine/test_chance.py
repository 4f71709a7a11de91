"""The chance that turns to come meet a gate, by brute force and by what must always hold."""

import datetime
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import beta, betabinom, binom

from readiness.engine.chance import chance_to_meet, clean_of_day
from readiness.engine.clean_rate import Decay, decayed_counts, read_clean
from readiness.engine.gates.clean import CleanRule

TODAY = datetime.date(2026, 3, 4)
# Unspotted work: .8 with certainty .8, 12 clean turns on 4 days (practice, no source).
UNSPOTTED = CleanRule(rate=0.8, certainty=0.8, days=4, clean=12)
PRACTICE = CleanRule(rate=0.6, certainty=0.9, days=3, clean=6)
# A week apart, the newest a week ago.
STEADY = [(4, 4), (3, 3), (4, 3), (4, 4)]


def weekly(turns, newest=7):
    first = newest + 7 * (len(turns) - 1)
    return [
        (TODAY - datetime.timedelta(days=first - 7 * place), n, k)
        for place, (n, k) in enumerate(turns)
    ]


def brute(days, gate, turns, decay):
    """The sum written out, with scipy's distributions and the weights of design 5.2."""
    a = b = 1.0
    for later, (day, n, k) in enumerate(sorted(days, reverse=True)):
        age = (TODAY - day).days
        weight = 2 ** (-later / decay.days - age / decay.time) / (
            1 + (n - 1) * decay.day_correlation
        )
        a, b = a + k * weight, b + (n - k) * weight
    total, strength = 0.0, (1 - decay.day_correlation) / decay.day_correlation
    for place in range(16):
        rate = beta.ppf((place + 0.5) / 16, a, b)
        for k in range(turns + 1):
            if read_clean([*days, (TODAY, turns, k)], TODAY, gate, decay).met:
                total += betabinom.pmf(k, turns, rate * strength, (1 - rate) * strength) / 16
    return total


days_of = st.lists(
    st.tuples(st.integers(1, 8), st.integers(0, 8)).map(lambda e: (e[0], min(e))), max_size=9
)
gates = st.builds(
    CleanRule,
    rate=st.sampled_from([0.5, 0.6, 0.8]),
    certainty=st.sampled_from([0.7, 0.8, 0.9]),
    days=st.integers(1, 4),
    clean=st.integers(1, 14),
)


@pytest.mark.parametrize("turns", [1, 3, 6, 10])
@pytest.mark.parametrize("gate", [UNSPOTTED, PRACTICE])
def test_it_is_the_sum_written_out(turns, gate):
    for days in (STEADY, STEADY[1:3], [(6, 3)] * 3, [(3, 3)] * 6, []):
        known = weekly(days)
        found = chance_to_meet(known, TODAY, gate, turns)
        assert found == pytest.approx(brute(known, gate, turns, Decay()), abs=1e-9)


@given(days_of, gates, st.integers(0, 15), st.sampled_from([0.05, 0.1, 0.4]))
def test_it_is_the_sum_written_out_for_any_record(days, gate, turns, correlation):
    decay, known = Decay(day_correlation=correlation), weekly(days)
    found = chance_to_meet(known, TODAY, gate, turns, decay)
    assert found == pytest.approx(brute(known, gate, turns, decay), abs=1e-9)


def test_sixteen_rates_are_near_the_whole_integral():
    known = weekly(STEADY)
    a, b = 1.0, 1.0
    for later, (day, n, k) in enumerate(reversed(known)):
        weight = 2 ** (-later / 8 - (TODAY - day).days / 84) / (1 + (n - 1) * 0.1)
        a, b = a + k * weight, b + (n - k) * weight
    least = next(k for k in range(7) if read_clean([*known, (TODAY, 6, k)], TODAY, UNSPOTTED).met)

    def at(rate):
        return beta.pdf(rate, a, b) * betabinom.sf(least - 1, 6, 9 * rate, 9 * (1 - rate))

    found = chance_to_meet(known, TODAY, UNSPOTTED, 6)
    assert 0 < found < 1
    assert found == pytest.approx(quad(at, 0, 1)[0], abs=0.005)


def test_first_turns_all_clean_by_a_published_distribution():
    """Three first turns all clean at .6 to .9, independent and at .1 and .2: the product formula
    of the beta-binomial, calculated with scipy.stats.betabinom."""
    for rate, plain, tenth, fifth in (
        (0.6, 0.216, 0.258, 0.299), (0.7, 0.343, 0.386, 0.426),
        (0.8, 0.512, 0.549, 0.582), (0.9, 0.729, 0.752, 0.773),
    ):  # fmt: skip
        found = [clean_of_day(rate, 3, correlation)[3] for correlation in (0, 0.1, 0.2)]
        assert found == pytest.approx([plain, tenth, fifth], abs=5.1e-4)
        assert found[0] == pytest.approx(binom.pmf(3, 3, rate), abs=1e-12)
    # All of a day hang together: all clean, or none.
    assert clean_of_day(0.7, 4, 1) == pytest.approx([0.3, 0, 0, 0, 0.7])


@given(st.floats(0.01, 0.99), st.integers(0, 15), st.floats(0, 0.9))
def test_chances_of_a_day_add_up_and_keep_their_mean(rate, turns, correlation):
    chances = clean_of_day(rate, turns, correlation)
    assert sum(chances) == pytest.approx(1, abs=1e-9)
    mean = sum(k * chance for k, chance in enumerate(chances))
    assert mean == pytest.approx(rate * turns, abs=1e-9)


@given(days_of, gates)
def test_no_turn_more_is_the_gate_as_it_stands(days, gate):
    known = weekly(days)
    assert chance_to_meet(known, TODAY, gate, 0) == float(read_clean(known, TODAY, gate).met)


@given(days_of, gates, st.integers(0, 14))
def test_a_turn_more_is_no_less_where_no_more_clean_ones_are_asked_for(days, gate, turns):
    known = weekly(days)

    def least(planned):
        met = (
            read_clean([*known, (TODAY, planned, k)], TODAY, gate).met for k in range(planned + 1)
        )
        return next((k for k, is_met in enumerate(met) if is_met), None)

    assume(least(turns) is not None and least(turns + 1) == least(turns))
    more = chance_to_meet(known, TODAY, gate, turns + 1)
    assert more >= chance_to_meet(known, TODAY, gate, turns) - 1e-12


def test_more_turns_can_be_less_where_the_gate_is_met():
    known = weekly([(3, 3)] * 8)
    assert chance_to_meet(known, TODAY, UNSPOTTED, 0) == 1
    assert chance_to_meet(known, TODAY, UNSPOTTED, 3) < 1


@given(days_of.filter(bool), gates, st.integers(1, 8), st.data())
def test_a_better_record_is_never_a_lesser_chance(days, gate, turns, data):
    place = data.draw(st.integers(0, len(days) - 1))
    n, k = days[place]
    assume(k < n)
    better = [*days[:place], (n, k + 1), *days[place + 1 :]]
    found = chance_to_meet(weekly(better), TODAY, gate, turns)
    assert found >= chance_to_meet(weekly(days), TODAY, gate, turns) - 1e-12


@given(days_of, gates, st.integers(0, 8))
def test_asking_for_more_is_never_a_greater_chance(days, gate, turns):
    known = weekly(days)
    found = chance_to_meet(known, TODAY, gate, turns)
    for harder in (replace(gate, clean=gate.clean + 1), replace(gate, days=gate.days + 1)):
        assert chance_to_meet(known, TODAY, harder, turns) <= found


def test_days_number_and_freshness_count():
    """Sure enough after six clean turns, on three days and a fourth: not where five are asked."""
    known = weekly([(6, 6)] * 3)
    assert chance_to_meet(known, TODAY, UNSPOTTED, 6) > 0.5
    assert chance_to_meet(known, TODAY, replace(UNSPOTTED, days=5), 6) == 0
    assert chance_to_meet(known, TODAY, replace(UNSPOTTED, clean=25), 6) == 0
    old = weekly([(6, 6)] * 4, newest=29)
    assert chance_to_meet(old, TODAY, UNSPOTTED, 0) == 0
    assert chance_to_meet(old, TODAY, UNSPOTTED, 1) > 0.5


def test_years_summed_up_give_the_same():
    known = weekly(STEADY * 3)
    old, new = known[:6], known[6:]
    gate = replace(UNSPOTTED, within=40)
    before = decayed_counts(old, Decay())
    for turns in (2, 6):
        whole = chance_to_meet(known, TODAY, gate, turns)
        assert chance_to_meet(new, TODAY, gate, turns, before=before) == pytest.approx(whole)


@pytest.mark.parametrize("turns", [-1, 16])
def test_no_such_number_of_turns(turns):
    with pytest.raises(ValueError, match="turns on a day"):
        chance_to_meet([], TODAY, UNSPOTTED, turns)
