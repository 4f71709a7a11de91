"""Error rates by simulation, against the plain reading of one child and exact values."""

import datetime
import time

import numpy as np
import pytest
from scipy.special import betainc
from scipy.stats import betabinom, binom

from readiness.engine.clean_rate import Decay, lately, read_clean
from readiness.engine.gates import CleanRule
from readiness.engine.trial.error_rates import certainty_for, opens_by_luck
from readiness.engine.trial.lately_errors import falls, false_rechecks, turns_until_caught
from readiness.engine.trial.simulation import (
    Classes,
    SureLevel,
    beta_binomial,
    first_open,
    simulate_clean,
    simulate_outcomes,
)

FIRST = datetime.date(2026, 1, 5)
PRACTICE = CleanRule(rate=0.6, certainty=0.9, days=3, clean=6)
UNSPOTTED = CleanRule(rate=0.8, certainty=0.8, days=4, clean=12)
DECAY, SHORT_DECAY = Decay(), Decay(days=2)
RATES = [0.3, 0.4, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95]


def on(number):
    return FIRST + datetime.timedelta(days=int(number))


# --- the quick form is the plain one ---------------------------------------------------


@pytest.mark.parametrize("rule", [PRACTICE, UNSPOTTED, CleanRule(0.7, 0.85, 2, 5, 40, 10)])
@pytest.mark.parametrize("gaps", [(7,), (3, 4), (1, 2, 30, 7, 90)])
def test_first_open_is_exactly_what_reading_each_child_gives(rule, gaps):
    draw = np.random.default_rng(7)
    days = np.concatenate([[0], np.cumsum(np.resize(gaps, 29))])
    shape = (len(days), 40)
    turns = draw.integers(0, 11, shape)
    rates = draw.uniform(0.5, 0.99, shape[1])
    clean = draw.binomial(turns, rates)
    opened = first_open(rule, DECAY, days, turns, clean)
    for child in range(shape[1]):
        columns = zip(days, turns[:, child], clean[:, child], strict=True)
        record = [(on(d), n, k) for d, n, k in columns]
        read = [read_clean(record, on(day), rule, DECAY).met for day in days]
        expected = read.index(True) if True in read else len(days)
        assert opened[child] == expected
    assert 0 < (opened < len(days)).sum() < shape[1] or len(gaps) > 2


def test_falls_are_exactly_what_reading_lately_after_each_turn_gives():
    draw = np.random.default_rng(3)
    days = np.arange(12) * 7
    turns = draw.integers(0, 6, (12, 30))
    outcomes = draw.random((12, 5, 30)) < 0.7
    fell = falls(0.8, SHORT_DECAY, days, turns, outcomes)
    for child in range(30):
        record = []
        for at, day in enumerate(days):
            expected = 0
            for turn in range(1, turns[at, child] + 1):
                today = on(day), turn, int(outcomes[at, :turn, child].sum())
                now = lately([*record, today], on(day), 0.8)
                if not expected and round(now, 6) < 0.1:
                    expected = turn
            assert fell[at, child] == expected
            if expected:
                record = []
            elif turns[at, child]:
                record.append(today)
    assert (fell > 0).any()


def test_sure_level_never_differs_from_the_incomplete_beta():
    draw = np.random.default_rng(5)
    for rate, level in [(0.8, 0.8), (0.6, 0.9), (0.8, 0.1), (0.95, 0.99), (0.5, 0.7)]:
        a, b = draw.uniform(1, 90, 20_000), draw.uniform(1, 30, 20_000)
        a[:4000] = b[:4000] * rate / (1 - rate) + draw.normal(0, 3, 4000)
        a = np.maximum(a, 1)
        exact = np.round(betainc(b, a, 1 - rate), 6) >= level
        assert (SureLevel(rate, level, 30).reached(a, b) == exact).all()


# --- the days ---------------------------------------------------------------------------


@pytest.mark.parametrize(("turns", "rate", "rho"), [(3, 0.6, 0.1), (10, 0.9, 0.2), (6, 0.3, 0)])
def test_days_are_beta_binomial(turns, rate, rho):
    clean = np.arange(turns + 1)
    if rho:
        expected = betabinom.pmf(clean, turns, rate * (1 - rho) / rho, (1 - rate) * (1 - rho) / rho)
    else:
        expected = binom.pmf(clean, turns, rate)
    assert beta_binomial(turns, rate, rho) == pytest.approx(expected, abs=1e-12)
    # Turn by turn (Pólya's urn) the same days come out, within four standard errors.
    luck = np.random.default_rng(2).random((1, turns, 20_000))
    seen = simulate_outcomes(np.array([[rate]]), rho, luck).sum(axis=1)
    share = np.bincount(seen.ravel(), minlength=turns + 1) / 20_000
    assert (np.abs(share - expected) < 4 * np.sqrt(expected / 20_000) + 1e-4).all()


@pytest.mark.parametrize(
    ("rho", "expected"),
    # Product formula against scipy's betabinom: the first three turns of a day all clean.
    [(0, [0.216, 0.343, 0.512, 0.729]), (0.1, [0.258, 0.386, 0.549, 0.752]),
     (0.2, [0.299, 0.426, 0.582, 0.773])],
)  # fmt: skip
def test_three_clean_first_turns(rho, expected):
    result = [beta_binomial(3, rate, rho)[3] for rate in (0.6, 0.7, 0.8, 0.9)]
    assert result == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("rho", "expected"),
    # As above: the first five.
    [(0, [0.078, 0.168, 0.328, 0.590]), (0.1, [0.131, 0.237, 0.402, 0.647]),
     (0.2, [0.185, 0.300, 0.464, 0.692])],
)  # fmt: skip
def test_five_clean_first_turns(rho, expected):
    result = [beta_binomial(5, rate, rho)[5] for rate in (0.6, 0.7, 0.8, 0.9)]
    assert result == pytest.approx(expected, abs=6e-4)


def test_always_and_never_clean():
    assert beta_binomial(3, 1, 0.1).tolist() == [0, 0, 0, 1]
    assert beta_binomial(3, 0, 0.1).tolist() == [1, 0, 0, 0]


def test_simulated_days_have_the_rate_and_the_correlation():
    clean = simulate_clean([0.7], Classes(turns=10), 40, 1000, 1).ravel()
    assert clean.mean() / 10 == pytest.approx(0.7, abs=0.005)
    # Kish: the variance of a day is n·p·q·(1 + (n - 1)·rho).
    assert clean.var() / (10 * 0.7 * 0.3) == pytest.approx(1.9, abs=0.05)


def test_class_days():
    assert Classes().days(3).tolist() == [0, 7, 14]
    assert Classes(a_week=2).days(2).tolist() == [0, 3, 7, 10]
    for wrong in ({"a_week": 8}, {"turns": 0}, {"day_correlation": 1}):
        with pytest.raises(ValueError, match="no such classes"):
            Classes(**wrong)


# --- gates ------------------------------------------------------------------------------


def test_a_gate_that_needs_all_clean_opens_as_often_as_is_exact():
    # With turns that do not hang together and nothing fading, one class of 8 turns and
    # certainty .9 of .75: Beta(9, 1) is sure at .925, Beta(8, 2) at .700. So only 8 of 8.
    plain = Decay(float("inf"), float("inf"), 0)
    rule = CleanRule(rate=0.75, certainty=0.9, days=1, clean=8)
    curve = opens_by_luck([rule], plain, [0.8], Classes(1, 8, 0), weeks=(1,), runs=20_000)[0]
    assert curve.chances[0][0] == pytest.approx(0.8**8, abs=4 * curve.errors[0][0])


def test_curves_grow_with_the_rate_and_the_horizon():
    for curve in opens_by_luck([PRACTICE, UNSPOTTED], DECAY, RATES, Classes()):
        term, year = (np.array(row) for row in curve.chances)
        assert (np.diff(term) >= 0).all()
        assert (np.diff(year) >= 0).all()
        assert (term <= year).all()
        assert curve.largest_error <= 0.016
        assert min(min(row) for row in curve.errors) > 0


def test_a_child_far_from_it_hardly_opens_the_unspotted_gate_and_a_ready_one_does():
    curve = opens_by_luck([UNSPOTTED], DECAY, [0.6, 0.95], Classes())[0]
    assert curve.chances[1][0] < 0.02
    assert curve.chances[0][1] > 0.95


def test_same_seed_same_answer_and_another_seed_agrees_within_its_error():
    one, again, other = (
        opens_by_luck([PRACTICE], DECAY, [0.6], Classes(), seed=seed)[0] for seed in (1, 1, 2)
    )
    assert one == again
    assert one != other
    assert one.chances[1][0] == pytest.approx(other.chances[1][0], abs=6 * one.largest_error)


def test_a_page_of_gates_is_quick():
    # Two rules differ in the shipped ladder. Processor time: the machine may be busy.
    opens_by_luck([PRACTICE], DECAY, RATES[:1], Classes())
    spent = []
    for _ in range(3):
        before = time.process_time()
        opens_by_luck([PRACTICE, UNSPOTTED], DECAY, RATES, Classes())
        spent.append(time.process_time() - before)
    assert min(spent) < 0.3


def test_the_certainty_for_a_chance_is_the_least_that_keeps_it():
    result = certainty_for(UNSPOTTED, DECAY, 0.7, 1 / 20, Classes())
    assert result is not None
    for certainty, kept in [(result, True), (round(result - 0.01, 2), False)]:
        rule = CleanRule(0.8, certainty, 4, 12)
        chance = opens_by_luck([rule], DECAY, [0.7], Classes(), weeks=(13,))[0].chances[0][0]
        assert (chance <= 1 / 20) is kept


def test_no_certainty_keeps_a_chance_that_is_too_small():
    assert certainty_for(UNSPOTTED, DECAY, 0.97, 1 / 100, Classes(turns=10)) is None
    assert certainty_for(PRACTICE, DECAY, 0.05, 1 / 100, Classes()) == 0.5


# --- lately -----------------------------------------------------------------------------


def test_a_settled_child_is_seldom_sent_back():
    # The decision note: at .95, three turns a week, .03 within 20 classes.
    curve = false_rechecks(0.8, SHORT_DECAY, [0.95], Classes(), weeks=(20,), settled_classes=12)
    assert curve.chances[0][0] == pytest.approx(0.03, abs=0.015)


def test_just_after_the_opening_one_miss_weighs_more():
    fresh = false_rechecks(0.8, SHORT_DECAY, [0.95], Classes(), weeks=(20,)).chances[0][0]
    settled = false_rechecks(0.8, SHORT_DECAY, [0.95], Classes(), weeks=(20,), settled_classes=12)
    assert fresh > settled.chances[0][0]
    # The first turn after the opening, not clean: Beta(1, 2) is sure of .8 at .04, under .1.
    first = falls(0.8, SHORT_DECAY, np.array([0]), np.array([[1]]), np.zeros((1, 1, 1), dtype=bool))
    assert first.tolist() == [[1]]


def test_a_drop_is_caught_within_three_classes():
    # The decision note: from .92 to .5 after 7 turns at the median, to .3 after 5.
    half, third = turns_until_caught(0.8, SHORT_DECAY, [0.5, 0.3], Classes())
    assert (half.turns, half.classes) == (7, 3)
    assert (third.turns, third.classes) == (5, 2)
    assert half.missed == 0
    assert 0 < half.error < 0.016


def test_a_drop_that_is_seldom_seen_has_no_median():
    [small] = turns_until_caught(0.8, SHORT_DECAY, [0.97], Classes(), weeks=4)
    assert (small.turns, small.classes) == (None, None)
    assert small.missed > 0.5
