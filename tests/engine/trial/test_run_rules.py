"""Rules on a row of turns, against published run lengths, closed forms and enumeration.

"Exact" beside a value: a closed form or whole enumeration. "Worked out": two independent
calculations agree on it, no publication was found. "From memory": the source was not seen.
"""

import itertools
import math

import numpy as np
import pytest
from scipy.stats import norm, poisson

from readiness.engine.trial.run_rules import (
    SIGNAL,
    STOP,
    Sprt,
    chain,
    clean_of_last,
    clean_of_last_step,
    count_chart,
    cusum_scores,
    in_a_row,
    learning_scores,
    mean_turns,
    mean_waits,
    score_chart,
    signalled_by,
    signalled_within,
    sprt_result,
    watch_chart,
)

# --- k of the last n ------------------------------------------------------------------

RATES = [0.5, 0.6, 0.7, 0.8, 0.9]
# Worked out by chain, enumeration and simulation: met at least once within so many turns.
EIGHT_OF_TEN = {
    10: [0.0547, 0.1673, 0.3828, 0.6778, 0.9298],
    20: [0.1972, 0.4541, 0.7499, 0.9448, 0.9979],
    30: [0.3172, 0.6441, 0.9025, 0.9917, 1.0],
    50: [0.5059, 0.8486, 0.9852, 0.9998, 1.0],
    100: [0.7800, 0.9821, 0.9999, 1.0, 1.0],
}
NINE_OF_TEN = {
    50: [0.1606, 0.4623, 0.8210, 0.9843, 0.9999],
    100: [0.3160, 0.7374, 0.9749, 0.9999, 1.0],
}
TEN_OF_TEN = {
    50: [0.0204, 0.0998, 0.3299, 0.7171, 0.9766],
    100: [0.0441, 0.2049, 0.5801, 0.9342, 0.9997],
}


@pytest.mark.parametrize(
    ("clean", "table"), [(8, EIGHT_OF_TEN), (9, NINE_OF_TEN), (10, TEN_OF_TEN)]
)
def test_k_of_ten_matches_the_worked_table(clean, table):
    result = signalled_within(clean_of_last(clean, 10), RATES, 100)
    for turns, expected in table.items():
        assert result[turns] == pytest.approx(expected, abs=5.1e-5)


def test_mean_wait_for_eight_of_ten():
    waits = [mean_turns(clean_of_last(8, 10), (p, 1 - p)) for p in RATES]
    assert waits == pytest.approx([68.8, 30.0, 17.1, 12.1, 10.3], abs=0.051)


def test_a_child_at_six_in_ten_passes_eight_of_ten_by_luck():
    # Exact: the figures of the decision note.
    result = signalled_within(clean_of_last(8, 10), [0.6], 60)[:, 0]
    assert result[[10, 20, 40, 60]] == pytest.approx([0.167, 0.454, 0.768, 0.901], abs=5.1e-4)
    assert clean_of_last(8, 10).states == 175


def test_the_first_window_is_a_binomial():
    # Exact: 56 of 1024.
    result = signalled_within(clean_of_last(8, 10), [0.5], 10)
    assert result[10, 0] == pytest.approx(56 / 1024, abs=1e-12)
    assert result[9, 0] == 0


@pytest.mark.parametrize(("clean", "turns"), [(2, 3), (3, 5), (8, 10), (4, 4), (1, 1)])
def test_windows_match_enumeration(clean, turns):
    length = 12
    seen = 0.0
    for row in itertools.product((0, 1), repeat=length):
        windows = (sum(row[at : at + turns]) for at in range(length - turns + 1))
        if any(window >= clean for window in windows):
            seen += 0.6 ** sum(row) * 0.4 ** (length - sum(row))
    result = signalled_within(clean_of_last(clean, turns), [0.6], length)
    assert result[length, 0] == pytest.approx(seen, abs=1e-12)


def test_naus_approximation_agrees():
    # Naus JI, JASA 1982;77:177-183: 1 - Q2·(Q3/Q2)^(N/m - 2), about right.
    result = signalled_within(clean_of_last(8, 10), [0.6], 100)[:, 0]
    q2, q3 = 1 - result[20], 1 - result[30]
    for turns in (40, 60, 100):
        assert 1 - q2 * (q3 / q2) ** (turns / 10 - 2) == pytest.approx(result[turns], abs=2.5e-4)


# Champ CW, Woodall WH, Technometrics 1987;29:393-399, Table 1 (as given in the manual of the
# R package spc): mean run lengths of a chart with 3-sigma limits and one more rule, at these
# shifts of the mean.
SHIFTS = [0, 0.4, 1, 2, 3]
CHAMP_WOODALL = [
    (2, 3, 2.0, [225.44, 104.46, 20.01, 3.65, 1.68]),
    (4, 5, 1.0, [166.05, 63.88, 12.66, 3.68, 1.89]),
    (8, 8, 0.0, [152.73, 59.76, 14.58, 4.89, 1.99]),
]


@pytest.mark.parametrize(("count", "window", "line", "published"), CHAMP_WOODALL)
def test_windows_match_champ_and_woodall(count, window, line, published):
    # With all of the window asked for, a short window cannot pass and the engine's own step
    # serves; else the published chart asks of windows that are not yet full as well.
    full = count == window
    step = full_windows(count) if full else short_windows(count, window)
    rule = chain(step, ((), ()) if full else (), outcomes=("out", "high", "low", "between"))
    for shift, expected in zip(SHIFTS, published, strict=True):
        high = norm.cdf(3 - shift) - norm.cdf(line - shift)
        low = norm.cdf(-line - shift) - norm.cdf(-3 - shift)
        out = norm.sf(3 - shift) + norm.cdf(-3 - shift)
        result = mean_turns(rule, (out, high, low, 1 - out - high - low))
        assert result == pytest.approx(expected, abs=6e-3)


def full_windows(count):
    inner = clean_of_last_step(count, count)

    def step(state, outcome):
        if outcome == "out":
            return SIGNAL
        sides = zip(state, ("high", "low"), strict=True)
        after = tuple(inner(side, int(outcome == name)) for side, name in sides)
        return SIGNAL if SIGNAL in after else after

    return step


def short_windows(count, window):
    def step(state, outcome):
        after = (*state, outcome)
        if outcome == "out" or any(after.count(side) >= count for side in ("high", "low")):
            return SIGNAL
        return after[-(window - 1) :]

    return step


# --- runs -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("clean", "rate", "expected"), [(3, 0.5, 14), (5, 0.5, 62), (10, 0.5, 2046)]
)
def test_mean_wait_for_a_run_matches_feller(clean, rate, expected):
    # Feller, An Introduction to Probability Theory I, XIII.7: (1 - p^r)/(q p^r); exact.
    assert mean_turns(in_a_row(clean), (rate, 1 - rate)) == pytest.approx(expected, rel=1e-12)
    as_chart = count_chart(1, clean, clean)
    assert mean_turns(as_chart, (rate, 1 - rate)) == pytest.approx(expected, rel=1e-9)


def test_ten_in_a_row_at_nine_in_ten():
    # Feller, as above.
    assert mean_turns(in_a_row(10), (0.9, 0.1)) == pytest.approx(18.67971990, abs=5e-8)


def test_eight_tosses_without_four_in_a_row():
    # Schilling, College Mathematics Journal 1990;21:196 (from memory; the recursion is exact):
    # 208 of 256 rows of eight have no run of four heads.
    assert signalled_within(in_a_row(4), [0.5], 8)[8, 0] == pytest.approx(48 / 256, abs=1e-12)


def test_ten_clean_in_ten_is_the_tenth_power():
    # Exact; a published package counts one step too few here.
    assert signalled_within(in_a_row(10), [0.83], 10)[10, 0] == pytest.approx(0.83**10, rel=1e-12)


# --- charts ---------------------------------------------------------------------------

CHART_RATES = [0.60, 0.70, 0.80, 0.90, 0.95]
# Worked out in rational arithmetic, by enumeration and by simulation: mean run length and
# the chance of a signal within 40 and 100 turns.
COUNT_CHARTS = [
    (3, 12, [549.6, 106.0, 35.6, 18.3, 14.5], [0.049, 0.251, 0.701, 0.986, 1.0],
     [0.150, 0.609, 0.979, 1.0, 1.0]),
    (4, 12, [820.5, 154.6, 45.2, 20.1, 15.1], [0.035, 0.181, 0.575, 0.957, 0.998],
     [0.104, 0.462, 0.928, 1.0, 1.0]),
    (4, 15, [3106, 336.4, 67.7, 26.0, 19.1], [0.008, 0.071, 0.374, 0.898, 0.994],
     [0.027, 0.230, 0.805, 0.999, 1.0]),
    (4, 20, [28084, 1134, 115, 36.0, 25.8], [0.001, 0.013, 0.154, 0.727, 0.969],
     [0.003, 0.065, 0.563, 0.996, 1.0]),
    (5, 15, [4089, 464, 86.6, 28.7, 19.9], [0.006, 0.055, 0.300, 0.834, 0.985],
     [0.021, 0.173, 0.696, 0.997, 1.0]),
]  # fmt: skip


@pytest.mark.parametrize(("down", "limit", "means", "in_40", "in_100"), COUNT_CHARTS)
def test_count_charts_match_the_worked_table(down, limit, means, in_40, in_100):
    rule = count_chart(1, down, limit)
    result = [mean_turns(rule, (p, 1 - p)) for p in CHART_RATES]
    assert result == pytest.approx(means, rel=4.5e-3)
    within = signalled_within(rule, CHART_RATES, 100)
    # Three digits, some of them cut off and not rounded.
    assert within[40] == pytest.approx(in_40, abs=1e-3)
    assert within[100] == pytest.approx(in_100, abs=1e-3)


# Worked out as above, frozen.
FROZEN = [
    (4, 15, 0.70, 336.361619, 0.0714597089, 0.2302459541, 238),
    (4, 15, 0.80, 67.749772, 0.3741619037, 0.8047116632, 52),
    (4, 15, 0.90, 26.045555, 0.8981346811, 0.9994908411, 23),
    (3, 12, 0.70, 105.983180, 0.2510470592, 0.6090829763, 78),
    (3, 12, 0.90, 18.337457, 0.9863937748, 0.9999982172, 16),
]


@pytest.mark.parametrize(("down", "limit", "rate", "mean", "in_40", "in_100", "median"), FROZEN)
def test_count_charts_hold_their_frozen_values(down, limit, rate, mean, in_40, in_100, median):
    rule = count_chart(1, down, limit)
    assert mean_turns(rule, (rate, 1 - rate)) == pytest.approx(mean, abs=1e-6)
    within = signalled_within(rule, [rate], 300)[:, 0]
    assert within[40] == pytest.approx(in_40, abs=1e-9)
    assert within[100] == pytest.approx(in_100, abs=1e-9)
    assert np.argmax(within >= 0.5) == median


@pytest.mark.parametrize(
    ("miss", "limit", "means"),
    [
        (4, 12, [3701, 347.9, 45.6, 18.8, 11.3]),
        (4, 15, [19683, 907.9, 68.1, 24.6, 14.3]),
        (5, 12, [849, 128.1, 26.9, 13.2, 8.6]),
        (3, 10, [14928, 949.2, 80.4, 26.5, 14.4]),
    ],
)
def test_watch_charts_match_the_worked_table(miss, limit, means):
    rule = watch_chart(miss, 1, limit)
    result = [mean_turns(rule, (1 - q, q)) for q in (0.05, 0.10, 0.20, 0.30, 0.40)]
    assert result == pytest.approx(means, rel=5e-3)


def test_a_count_chart_matches_enumeration():
    rule, length, seen = count_chart(1, 4, 6), 12, 0.0
    for row in itertools.product((0, 1), repeat=length):
        score = 0
        for outcome in row:
            score = max(0, score + (1 if outcome else -4))
            if score >= 6:
                seen += 0.7 ** sum(row) * 0.3 ** (length - sum(row))
                break
    assert signalled_within(rule, [0.7], length)[length, 0] == pytest.approx(seen, abs=1e-12)


def test_kemp_ties_the_cusum_to_wald():
    # Kemp KW, JRSS B 1971;33:331: E(N of the CUSUM) = E(N of the test) / (1 - P(ends at 0)).
    def step(state, outcome):
        score = state + (1 if outcome else -4)
        return SIGNAL if score >= 15 else STOP if score <= 0 and not outcome else score

    test = chain(step, 0)
    for rate in (0.7, 0.9):
        ends = signalled_by(test, (rate, 1 - rate), 5000)[-1]
        mean = mean_turns(test, (rate, 1 - rate)) / ends
        chart = mean_turns(count_chart(1, 4, 15), (rate, 1 - rate))
        assert mean == pytest.approx(chart, rel=1e-9)


# --- the chain of Brook and Evans -----------------------------------------------------


def brook_evans(k, h, mean, cells):
    """One-sided normal CUSUM: Brook & Evans, Biometrika 1972;59:539-549, sections 2 and 4.3."""
    width = 2 * h / (2 * cells - 1)
    at = np.arange(cells)
    middle = (at[None, :] - at[:, None]) * width + k - mean
    steps = norm.cdf(middle + width / 2) - norm.cdf(middle - width / 2)
    steps[:, 0] = norm.cdf(-at * width + width / 2 + k - mean)
    return mean_waits(steps)[0]


def run_length(k, h, mean):
    """Extrapolated in the square of the cell's width, as Brook and Evans advise."""
    coarse, fine = brook_evans(k, h, mean, 100), brook_evans(k, h, mean, 200)
    ratio = (399 / 199) ** 2
    return fine + (fine - coarse) / (ratio - 1)


def test_brook_and_evans_own_values():
    # Brook & Evans 1972, 4.3 (as given in the manual of the R package spc, xcusum.arl).
    assert run_length(0.5, 3, 0) == pytest.approx(117.59, abs=0.02)
    assert run_length(0.5, 3, 1.5) == pytest.approx(3.75, abs=0.01)


def test_waldmann_same_chart():
    # Waldmann 1986 (same manual).
    result = [run_length(0.5, 3, mean) for mean in (-0.5, 0, 0.5)]
    assert result == pytest.approx([1963, 117.4, 17.35], rel=3e-3)


def test_vance():
    # Vance 1986 (same manual): k = 0, h = 10.
    means = [-0.25, -0.125, 0, 0.125, 0.25, 0.5, 0.75, 1]
    published = [2071.51, 400.28, 124.66, 59.30, 36.71, 20.37, 14.06, 10.75]
    result = [run_length(0, 10, mean) for mean in means]
    # 2 in 10,000, or the last digit printed.
    for ours, theirs in zip(result, published, strict=True):
        assert ours == pytest.approx(theirs, rel=2e-4, abs=5.1e-3)


SHIFTED = [0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4]


@pytest.mark.parametrize(
    ("h", "published"),
    [
        # Lucas & Crosier 1982, Table 1 (spc manual; Montgomery, Table 16-9).
        (4, [168, 74.2, 26.6, 13.3, 8.38, 4.75, 3.34, 2.62, 2.19, 1.71]),
        # Montgomery, Introduction to Statistical Quality Control, Table 16-9.
        (5, [465, 139, 38.0, 17.0, 10.4, 5.75, 4.01, 3.11, 2.57, 2.01]),
    ],
)
def test_two_sided_cusum_tables(h, published):
    for shift, expected in zip(SHIFTED, published, strict=True):
        sides = 1 / run_length(0.5, h, shift) + 1 / run_length(0.5, h, -shift)
        # Three digits are printed.
        assert 1 / sides == pytest.approx(expected, rel=3.6e-3)


def test_sas_manual():
    # SAS/QC manual, k = .25, h = 8, mean 2.5 (spc manual).
    assert run_length(0.25, 8, 2.5) == pytest.approx(4.1500836225, abs=2e-5)


def test_poisson_cusum():
    # Lucas 1985, Tables 2 and 3 (spc manual, pois.cusum.arl): k = .25, h = 10, mean .25; with
    # a head start of half the limit. On the lattice of quarters the chain is exact.
    at = np.arange(40)
    steps = poisson.pmf((at[None, :] - at[:, None] + 1) / 4, 0.25)
    steps[0, 0] += poisson.pmf(0, 0.25)
    steps[:, 0] = [poisson.cdf((1 - i) // 4, 0.25) if i <= 1 else 0 for i in at]
    waits = mean_waits(steps)
    assert (waits[0], waits[20]) == pytest.approx((438, 333), abs=0.5)
    assert (waits[0], waits[20]) == pytest.approx((438.1250, 333.1248), abs=5.1e-5)


def test_nist_table_is_half_as_often_on_one_side():
    # NIST/SEMATECH e-Handbook, 6.3.2.3.1 (from memory): one-sided, k = .5, on target; twice
    # the two-sided 168 and 465 of Lucas & Crosier and of Montgomery.
    assert run_length(0.5, 4, 0) == pytest.approx(336, rel=3e-3)
    assert run_length(0.5, 5, 0) == pytest.approx(930, rel=3e-3)


# --- Bernoulli CUSUM ------------------------------------------------------------------


def test_steiner_scores():
    # Steiner et al., Biostatistics 2000;1:441-452, p. 446, odds ratio 2, and Steiner 2014,
    # p. 234 (as tested in the R package vlad): logit = -3.68 + .077·score, scores 0 and 50.
    low, high = (1 / (1 + math.exp(3.68 - 0.077 * score)) for score in (0, 50))
    result = [*cusum_scores(low, 2), *cusum_scores(high, 2)]
    assert result == pytest.approx([-0.024, 0.669, -0.433, 0.260], abs=5.1e-4)
    result = [*cusum_scores(low, 0.5), *cusum_scores(high, 0.5)]
    assert result == pytest.approx([0.012, -0.681, 0.316, -0.377], abs=5.1e-4)


def event_chart(chance, odds_ratio, limit, depth):
    """Counts events: 'clean' stands for nothing happened."""
    nothing, event = cusum_scores(chance, odds_ratio)
    return score_chart(nothing, event, limit, depth=depth)


@pytest.mark.parametrize(
    ("chance", "odds_ratio", "simulated", "exact"),
    [(0.05, 2, 0.038, 0.037239), (0.1, 0.5, 0.026, 0.026276)],
)
def test_false_signals_of_cusum_r(chance, odds_ratio, simulated, exact):
    # R package cusumR, tests: 10,000 simulations of 100 cases, limit 2.96; exact worked out.
    rule = event_chart(chance, odds_ratio, 2.96, 100)
    result = signalled_within(rule, [1 - chance], 100)[100, 0]
    assert result == pytest.approx(simulated, abs=6e-3)
    assert result == pytest.approx(exact, abs=5.1e-7)


def test_exact_limit_of_cusum_r():
    # R package cusumR, tests: p = .1, n = 10, odds ratio 2, alpha .05: limit 1.41227. It is
    # the 95th percentile of the highest score: reached with chance .05106, passed with less.
    def tail(limit):
        return signalled_within(event_chart(0.1, 2, limit, 10), [0.9], 10)[10, 0]

    assert tail(1.41227 - 6e-6) == pytest.approx(0.05106, abs=5.1e-6)
    assert tail(1.41227 + 6e-6) < 0.05


def test_trace_of_cusum_r():
    # R package cusumR, tests: scores +.6 and -.2.
    score, trace = 0.0, []
    for outcome in "0100000100":
        score = max(0.0, score + (0.6 if outcome == "1" else -0.2))
        trace.append(score)
    assert trace == pytest.approx([0, 0.6, 0.4, 0.2, 0, 0, 0, 0.6, 0.4, 0.2], abs=1e-12)
    # The chart has just these scores as states, and speaks where the trace first reaches .6.
    rule = score_chart(-0.2, 0.6, 0.6, depth=10)
    assert signalled_within(rule, [0.0], 1)[1, 0] == 1
    assert rule.states == 1


def test_bernoulli_cusum_of_success_on_a_fine_lattice():
    # R package success, snapshots: p0 = .4, odds ratio 2, limit 2.5, 100 cells: 209, of which
    # its coarse grid is to blame; simulation 204.2 ± 1.0, a fine lattice 205.60.
    nothing, event = cusum_scores(0.4, 2)
    unit = 2.5 / 5000
    rule = score_chart(round(nothing / unit), round(event / unit), 5000, depth=4000)
    within = signalled_within(rule, [0.6], 4000)[:, 0]
    assert (1 - within).sum() == pytest.approx(205.6, abs=1.0)


@pytest.mark.parametrize(("cells", "result"), [(50, 329.4), (100, 209.5), (200, 235.5)])
def test_a_coarse_grid_misleads_for_two_scores(cells, result):
    # R package success, snapshots: 209 with 100 cells (209.473 worked out). The others, worked
    # out, show that it is the grid's own: the truth is 205.6, as above.
    nothing, event = cusum_scores(0.4, 2)
    width = 2 * 2.5 / (2 * cells - 1)
    at = np.arange(cells)

    def at_most(score):
        return np.where(score >= event, 1.0, np.where(score >= nothing, 0.6, 0.0))

    middle = (at[None, :] - at[:, None]) * width
    steps = at_most(middle + width / 2) - at_most(middle - width / 2)
    steps[:, 0] = at_most(-at * width + width / 2)
    wait = mean_waits(steps)[0]
    assert wait == pytest.approx(result, abs=0.051)
    if cells == 100:
        assert wait == pytest.approx(209.473, abs=5.1e-4)


# --- learning charts ------------------------------------------------------------------


def test_walds_limit_does_not_give_the_error_rate_of_a_chart_that_restarts():
    # Worked out: p0 = .10, p1 = .20, limit ln(.8/.05) = 2.773; passes by luck at .20, .30 misses.
    clean, miss = learning_scores(0.9, 0.8)
    rule = score_chart(clean, miss, math.log(0.8 / 0.05), depth=200)
    result = signalled_within(rule, [0.8], 200)[[30, 60, 100, 200], 0]
    assert result == pytest.approx([0.010, 0.081, 0.175, 0.369], abs=5.1e-4)


def test_the_same_with_a_wider_gap():
    # Worked out: p0 = .10, p1 = .30, the same limit, a child who misses three in ten.
    clean, miss = learning_scores(0.9, 0.7)
    rule = score_chart(clean, miss, math.log(0.8 / 0.05), depth=200)
    result = signalled_within(rule, [0.7], 200)[[30, 60, 100, 200], 0]
    assert result == pytest.approx([0.121, 0.282, 0.453, 0.722], abs=5.1e-4)


def test_learning_scores_go_up_with_a_clean_turn():
    # Biau & Porcher, Statistics in Medicine 2010;29:1900-1909, as in bio-protocol.org 9325945
    # (signs differ between papers): ln((1-p0)/(1-p0-d)) on success, ln(p0/(p0+d)) on failure.
    failing, more = 0.40, 0.15
    expected = (
        math.log((1 - failing) / (1 - failing - more)),
        math.log(failing / (failing + more)),
    )
    assert learning_scores(0.6, 0.45) == pytest.approx(expected, abs=1e-12)
    assert expected[0] > 0 > expected[1]


def test_that_study_s_own_limit_hardly_ever_speaks_falsely():
    # p0 = .40, d = .15, limit 6 (as above). Worked out: within 50, 100, 200, 400 turns.
    clean, miss = learning_scores(0.6, 0.45)
    rule = score_chart(clean, miss, 6, depth=400)
    result = signalled_within(rule, [0.45], 400)[[50, 100, 200, 400], 0]
    assert result == pytest.approx([0.0002, 0.0028, 0.0110, 0.0283], abs=5.1e-5)


@pytest.mark.parametrize(
    ("failing", "down", "too_many"),
    # Worked out: +1 and -k is the chart of the likelihood ratio for this pair of rates.
    [
        (0.10, 3, 0.4581), (0.10, 4, 0.3345), (0.10, 5, 0.2517), (0.05, 5, 0.3598),
        (0.05, 6, 0.2921), (0.15, 3, 0.3721), (0.15, 4, 0.2572), (0.20, 3, 0.3049),
    ],
)  # fmt: skip
def test_which_rates_a_count_chart_tells_apart(failing, down, too_many):
    clean, miss = learning_scores(1 - failing, 1 - too_many)
    assert -miss / clean == pytest.approx(down, abs=2e-3)
    if (failing, down) == (0.10, 4):
        # Fifteen steps of this chart are a limit of 4.53.
        assert 15 * clean == pytest.approx(4.53, abs=5.1e-3)


def test_a_watch_chart_is_the_mirror_of_a_count_chart():
    # Reynolds & Stoumbos, Journal of Quality Technology 1999;31:87-108 (from memory): with
    # g = r1/r2 = 1/5 the score is +4 for a failure and -1 for a success.
    p0, p1 = 0.10, 0.3345
    r1, r2 = -math.log((1 - p1) / (1 - p0)), math.log(p1 * (1 - p0) / (p0 * (1 - p1)))
    assert r1 / r2 == pytest.approx(1 / 5, abs=1e-4)


# Worked out on a lattice: the limit with false signals at most .05, the power, the median.
@pytest.mark.parametrize(
    ("misses", "too_many", "turns", "limit", "power", "median"),
    [
        (0.05, 0.20, 40, 3.61, 0.78, 31), (0.05, 0.20, 60, 4.13, 0.89, 34),
        (0.05, 0.20, 100, 4.80, 0.98, 38),
        (0.05, 0.30, 40, 4.31, 0.97, 17), (0.05, 0.30, 60, 4.88, 1.00, 21),
        (0.05, 0.30, 100, 5.49, 1.00, 25),
        (0.10, 0.30, 40, 3.77, 0.85, 26), (0.10, 0.30, 60, 4.33, 0.94, 29),
        (0.10, 0.30, 100, 4.93, 0.99, 34),
        (0.10, 0.40, 40, 4.46, 0.98, 16), (0.10, 0.40, 60, 4.92, 1.00, 17),
        (0.10, 0.40, 100, 5.56, 1.00, 20),
        (0.15, 0.35, 40, 3.71, 0.79, 27), (0.15, 0.35, 60, 4.20, 0.90, 32),
        (0.15, 0.35, 100, 4.78, 0.98, 37),
        (0.20, 0.40, 40, 3.62, 0.76, 28), (0.20, 0.40, 60, 4.08, 0.88, 32),
        (0.20, 0.40, 100, 4.66, 0.97, 39),
    ],
)  # fmt: skip
def test_learning_charts_match_the_worked_table(misses, too_many, turns, limit, power, median):
    clean, miss = learning_scores(1 - misses, 1 - too_many)
    # The lattice of the table is a little coarse: the limit lies within this of the printed one.
    rule = score_chart(clean, miss, limit + 0.02, depth=turns)
    result = signalled_within(rule, [1 - too_many, 1 - misses], turns)
    assert result[turns, 0] <= 0.05
    lower = score_chart(clean, miss, limit - 0.05, depth=turns)
    assert signalled_within(lower, [1 - too_many], turns)[turns, 0] > 0.05
    assert result[turns, 1] == pytest.approx(power, abs=1.5e-2)
    assert abs(int(np.argmax(result[:, 1] >= 0.5)) - median) <= 2


# --- Wald's test ----------------------------------------------------------------------

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.6: 1 % and 10 % defective, alpha .05,
# beta .10. "Accept" there is accepting the lot; here it is accepting the child as ready.
NIST = Sprt(unready=0.90, ready=0.99, alpha=0.10, beta=0.05)


def test_nist_lines():
    # The equations are from memory (images on the page).
    h1, h2, s = NIST.lines()
    assert (h1, h2) == pytest.approx((0.939, 1.205), abs=5e-4)
    assert s == pytest.approx(0.0397, abs=5e-5)
    # Worked out.
    assert NIST.lines() == pytest.approx((0.938862, 1.205379, 0.039747), abs=5.1e-7)


def test_nist_acceptance_numbers():
    # Same page: "for n = 24 the acceptance number is 0 and the rejection number is 3".
    h1, h2, s = NIST.lines()
    assert math.floor(-h1 + s * 24) == 0
    assert -h1 + s * 23 < 0
    assert [math.ceil(h2 + s * n) for n in (19, 20, 24)] == [2, 3, 3]
    # The chain says the same: 24 clean in a row is the first acceptance.
    within = signalled_within(NIST.chain(24), [1.0], 24)[:, 0]
    assert within.tolist() == [0.0] * 24 + [1.0]


def test_exact_course_of_the_open_plan():
    # Worked out: accepted at 1 % defective, mean number; rejected at 10 %, mean number.
    accepted, rejected, turns = sprt_result(NIST, 0.99)
    assert (accepted, turns) == pytest.approx((0.97795, 30.21), abs=5e-3)
    assert accepted == pytest.approx(0.97795, abs=1e-5)
    assert accepted + rejected == pytest.approx(1, abs=1e-12)
    _, rejected, turns = sprt_result(NIST, 0.90)
    assert rejected == pytest.approx(0.90042, abs=1e-5)
    assert turns == pytest.approx(22.37, abs=5e-3)


@pytest.mark.parametrize(
    ("unready", "ready", "alpha", "beta"),
    [(0.6, 0.85, 0.05, 0.1), (0.65, 0.9, 0.05, 0.1), (0.7, 0.9, 0.01, 0.1)],
)
def test_walds_inequalities(unready, ready, alpha, beta):
    # Wald, Sequential Analysis, 1947; exact.
    test = Sprt(unready, ready, alpha, beta)
    assert sprt_result(test, unready)[0] <= alpha / (1 - beta)
    assert sprt_result(test, ready)[1] <= beta / (1 - alpha)


@pytest.mark.parametrize(
    ("start", "end", "rate", "ruin", "duration"),
    # Feller I, 3rd ed., XIV.2-3: formula exact, the first row from memory.
    [(9, 10, 0.45, 0.210, 11.0), (90, 100, 0.5, 0.1, 900)],
)
def test_gamblers_ruin(start, end, rate, ruin, duration):
    def step(state, outcome):
        after = state + (1 if outcome else -1)
        return SIGNAL if after == end else STOP if after == 0 else after

    rule = chain(step, start)
    chances = (rate, 1 - rate)
    assert mean_turns(rule, chances) == pytest.approx(duration, abs=0.05)
    odds = (1 - rate) / rate
    exact = 1 - start / end if odds == 1 else (odds**end - odds**start) / (odds**end - 1)
    # A fair game of a hundred steps is long: all but e^-24 of it is over by 50,000 turns.
    lost = 1 - signalled_by(rule, chances, 3000 if odds != 1 else 50_000)[-1]
    assert lost == pytest.approx(exact, abs=1e-12 if odds != 1 else 1e-10)
    assert exact == pytest.approx(ruin, abs=5.1e-4)


# --- turns of one day hang together ----------------------------------------------------


def test_day_correlation_matches_the_simulated_values():
    # Simulated, ± .003: +1/-4 at 15, true rate .70, 100 turns in ten days.
    rule = count_chart(1, 4, 15)
    for correlation, expected in [(0, 0.230), (0.05, 0.378), (0.10, 0.499), (0.20, 0.676)]:
        result = signalled_within(rule, [0.7], 100, correlation, 10)[100, 0]
        assert result == pytest.approx(expected, abs=4e-3)
    # 60 turns, correlation .20, by the turns of a day.
    for a_day, expected in [(10, 0.463), (5, 0.345), (3, 0.244), (2, 0.189), (1, 0.126)]:
        result = signalled_within(rule, [0.7], 60, 0.2, a_day)[60, 0]
        assert result == pytest.approx(expected, abs=4e-3)


def test_day_correlation_matches_enumeration():
    # Exact: two days of four turns, each day's order equally likely given its number clean.
    from scipy.stats import betabinom

    correlation, rate = 0.2, 0.6
    a, b = rate * 4, (1 - rate) * 4  # a + b = (1 - .2) / .2
    seen = 0.0
    for row in itertools.product((0, 1), repeat=8):
        if any(sum(row[at : at + 5]) >= 4 for at in range(4)):
            weight = 1.0
            for day in (row[:4], row[4:]):
                weight *= betabinom.pmf(sum(day), 4, a, b) / math.comb(4, sum(day))
            seen += weight
    result = signalled_within(clean_of_last(4, 5), [rate], 8, correlation, 4)
    assert result[8, 0] == pytest.approx(seen, abs=1e-12)


# --- edges ----------------------------------------------------------------------------


def test_always_and_never_clean():
    result = signalled_within(in_a_row(5), [0.0, 1.0], 6)
    assert result[:, 0].tolist() == [0] * 7
    assert result[:, 1].tolist() == [0, 0, 0, 0, 0, 1, 1]
    assert mean_turns(in_a_row(5), (0.0, 1.0)) == math.inf


def test_what_has_no_answer_is_refused():
    with pytest.raises(ValueError, match="11 of 10"):
        clean_of_last(11, 10)
    cut = score_chart(0.11, -0.7, 3, depth=20)
    with pytest.raises(ValueError, match="20 turns, not 21"):
        signalled_within(cut, [0.8], 21)
    with pytest.raises(ValueError, match="horizon"):
        mean_turns(cut, (0.8, 0.2))
    with pytest.raises(ValueError, match="turns of a day"):
        signalled_within(in_a_row(5), [0.8], 10, 0.1)
