"""Intervals for a share, against published tables."""

import pytest

from readiness.engine.statistics.proportions import clopper_pearson, most_after_none, wilson

# Newcombe RG, Statistics in Medicine 1998;17:857-872, Table I: methods 3 and 5.
NEWCOMBE = [
    (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
    (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
]


@pytest.mark.parametrize(("clean", "turns", "score", "exact"), NEWCOMBE)
def test_intervals_match_newcombe(clean, turns, score, exact):
    assert wilson(clean, turns) == pytest.approx(score, abs=5.1e-5)
    assert clopper_pearson(clean, turns) == pytest.approx(exact, abs=5.1e-5)


def test_wilson_matches_statsmodels_own_test_values():
    # statsmodels, stats/tests/test_proportion.py: 19 of 38 and 100 of 200.
    assert wilson(19, 38)[0] == pytest.approx(0.348499283643951, abs=1e-12)
    assert wilson(100, 200) == pytest.approx((0.4313609, 0.5686391), abs=5e-8)


def test_intervals_match_r_as_recorded_by_scipy():
    # scipy, stats/tests/test_morestats.py, from R binom.test and prop.test.
    assert wilson(3, 10) == pytest.approx((0.1077913, 0.6032219), abs=5e-8)
    assert clopper_pearson(10, 10)[0] == pytest.approx(0.6915029, abs=5e-8)
    assert clopper_pearson(0, 10)[1] == pytest.approx(0.3084971, abs=5e-8)
    assert 1 - most_after_none(10) == pytest.approx(0.7411344, abs=5e-8)


@pytest.mark.parametrize(("clean", "turns"), [(3, 10), (0, 7), (7, 7), (81, 263)])
def test_intervals_match_statsmodels(clean, turns):
    from statsmodels.stats.proportion import proportion_confint

    for method, ours in (("wilson", wilson), ("beta", clopper_pearson)):
        theirs = proportion_confint(clean, turns, method=method)
        assert ours(clean, turns) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize(
    ("clean", "turns", "score", "exact"),
    # Worked out by two calculations: what the docs say of a few clean turns.
    [
        (8, 10, (0.490, 0.943), (0.444, 0.975)),
        (10, 10, (0.722, 1), (0.692, 1)),
        (20, 20, (0.839, 1), (0.832, 1)),
        (30, 30, (0.886, 1), (0.884, 1)),
    ],
)
def test_what_a_few_clean_turns_leave_open(clean, turns, score, exact):
    assert wilson(clean, turns) == pytest.approx(score, abs=5.1e-4)
    assert clopper_pearson(clean, turns) == pytest.approx(exact, abs=5.1e-4)


def test_none_of_thirty_leaves_a_little_less_than_the_rule_of_three():
    # Exact: 1 - .05^(1/30); the rule of three says .100.
    assert most_after_none(30) == pytest.approx(0.095, abs=5.1e-4)


def test_none_of_twenty_leaves_about_fourteen_in_a_hundred():
    # Exact: 1 - .05^(1/20); the rule of three says .15.
    assert most_after_none(20) == pytest.approx(0.1391, abs=5e-5)


@pytest.mark.parametrize("interval", [wilson, clopper_pearson])
def test_edges_are_exact_and_nothing_seen_gives_no_estimate(interval):
    assert interval(0, 20)[0] == 0
    assert interval(20, 20)[1] == 1
    assert interval(0, 0) is None
    with pytest.raises(ValueError, match="3 of 2 turns"):
        interval(3, 2)
    assert most_after_none(0) is None
