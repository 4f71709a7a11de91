"""Rates per 1,000 turns, against published values and statsmodels."""

import pytest

from readiness.engine.statistics.rates import Rate, exact_poisson, per_thousand


def test_the_interval_matches_r_as_recorded_by_statsmodels():
    # statsmodels, stats/tests/test_rates_poisson.py, from R exactci poisson.exact and DescTools
    # PoissonCI: 15 in 400.
    lower, upper = exact_poisson(15)
    assert lower / 400 == pytest.approx(0.0209884653319583, abs=1e-14)
    assert upper / 400 == pytest.approx(0.0618505471787146, abs=1e-14)


@pytest.mark.parametrize("count", [0, 1, 19, 20, 60, 150])
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_the_interval_matches_statsmodels(count, confidence):
    from statsmodels.stats.rates import confint_poisson

    lower, upper = confint_poisson(count, 1, method="exact-c", alpha=1 - confidence)
    # statsmodels gives no number for the lower end of none.
    expected = (lower if count else 0.0, upper)
    assert exact_poisson(count, confidence) == pytest.approx(expected, rel=1e-10)


def test_each_end_leaves_a_fortieth_beyond_it():
    # What makes it exact: P(X >= 20 | lower) = P(X <= 20 | upper) = .025 (Garwood 1936).
    from scipy.stats import poisson

    lower, upper = exact_poisson(20)
    assert poisson.sf(19, lower) == pytest.approx(0.025, abs=1e-12)
    assert poisson.cdf(20, upper) == pytest.approx(0.025, abs=1e-12)


def test_none_seen_leaves_a_little_more_than_three():
    # Exact: -ln(.025); the one-sided rule of three says 3.
    assert exact_poisson(0) == pytest.approx((0, 3.6888794541139363), abs=1e-12)


@pytest.mark.parametrize(("count", "turns"), [(0, 9000), (19, 9000), (20, 0)])
def test_under_twenty_or_without_turns_there_is_too_little_to_say(count, turns):
    assert per_thousand(count, turns) is None


def test_from_twenty_on_it_is_said_per_thousand_turns():
    # 20: 12.2165 to 30.8884 (statsmodels, method exact-c); of 10,000 turns.
    rate = per_thousand(20, 10_000)
    assert isinstance(rate, Rate)
    assert rate.rate == pytest.approx(2.0)
    assert (rate.lower, rate.upper) == pytest.approx((1.22165, 3.08884), abs=5e-6)


def test_less_than_never_is_refused():
    with pytest.raises(ValueError, match="-1 times"):
        exact_poisson(-1)
