"""Shares of a whole, and whether one has become smaller, against published and exact values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import dirichlet

from readiness.engine.statistics.shares import chance_of_fewer, chance_of_largest, shares

# Gelman et al., Bayesian Data Analysis, 3rd edition, 3.4: 727, 583 and 137 of 1,447.
POLL = [727, 583, 137]


def largest(weights):
    return [chance_of_largest(weights, at) for at in range(len(weights))]


def test_the_books_poll():
    first, second, third = shares(POLL, confidence=0.95)
    # P(first > second), calculated from Dirichlet(728, 584, 138); the third never is the largest.
    assert largest(POLL) == pytest.approx([0.99996566, 1 - 0.99996566, 0], abs=1e-8)
    assert first.share - second.share == pytest.approx(0.099310, abs=1e-6)
    ends = [(read.lower, read.upper) for read in (first, second, third)]
    assert ends[0] == pytest.approx((0.4763, 0.5278), abs=5e-5)
    assert ends[1] == pytest.approx((0.3777, 0.4281), abs=5e-5)
    assert ends[2] == pytest.approx((0.0806, 0.1108), abs=5e-5)


def test_nothing_seen_says_nothing():
    assert [read.share for read in shares([0.0] * 6)] == pytest.approx([1 / 6] * 6)
    assert largest([0.0] * 6) == pytest.approx([1 / 6] * 6, abs=1e-10)


@pytest.mark.parametrize(
    "weights", [[3, 1, 0, 0, 0.5, 0], [10, 5, 2, 1, 1, 1], [0.2, 0, 0], [4, 4]]
)
def test_the_largest_is_as_often_the_largest_as_in_a_million_draws_of_scipy(weights):
    drawn = dirichlet([1 + w for w in weights]).rvs(
        1_000_000, random_state=np.random.default_rng(5)
    )
    share = np.bincount(drawn.argmax(axis=1), minlength=len(weights)) / len(drawn)
    # Three standard errors of a share of a million draws are .0015.
    assert largest(weights) == pytest.approx(list(share), abs=0.0015)


@given(st.lists(st.floats(0, 200), min_size=2, max_size=7))
def test_the_chances_are_those_of_one_largest_and_follow_the_weights(weights):
    read = shares(weights)
    assert sum(largest(weights)) == pytest.approx(1, abs=1e-7)
    assert sum(each.share for each in read) == pytest.approx(1)
    order = sorted(range(len(weights)), key=lambda at: weights[at])
    chances = [largest(weights)[at] for at in order]
    assert chances == pytest.approx(sorted(chances), abs=1e-7)
    assert all(0 <= each.lower <= each.upper <= 1 for each in read)


@pytest.mark.parametrize("weights", [[], [1], [1, -0.5]])
def test_what_has_no_shares_is_refused(weights):
    with pytest.raises(ValueError, match="two kinds"):
        shares(weights)
    with pytest.raises(ValueError, match="two kinds"):
        chance_of_largest(weights, 0)


def test_two_polls_a_year_apart():
    # Bayesian Data Analysis, exercise 3.2: 294, 307 and 38, then 288, 332 and 19. The first of
    # two kinds rose from Beta(295, 308) to Beta(289, 333) with .194; the third fell with .995.
    rose = 1 - chance_of_fewer((294, 601), (288, 620), kinds=2)
    assert rose == pytest.approx(0.194303713, abs=1e-9)
    fell = chance_of_fewer((38, 639), (19, 639))
    assert fell == pytest.approx(0.994950, abs=1e-6)


@pytest.mark.parametrize(
    ("before", "after", "kinds", "expected"),
    [
        # Beta(2, 1), then Beta(1, 2): exact, by hand.
        ((1, 1), (0, 1), 2, 5 / 6),
        # By P(B < A) summed for whole numbers, equal to quadrature.
        ((12, 20), (5, 20), 3, 0.984732232),
        ((6, 10), (3, 10), 3, 0.893121551),
        ((0, 0), (0, 0), 3, 0.5),
    ],
)
def test_check_values_of_a_change(before, after, kinds, expected):
    assert chance_of_fewer(before, after, kinds) == pytest.approx(expected, abs=1e-9)


@given(st.tuples(st.floats(0, 30), st.floats(0, 30)), st.tuples(st.floats(0, 30), st.floats(0, 30)))
def test_fewer_one_way_is_more_the_other_way(first, second):
    before, after = ((seen, seen + rest) for seen, rest in (first, second))
    there, back = chance_of_fewer(before, after), chance_of_fewer(after, before)
    assert there + back == pytest.approx(1, abs=1e-7)


def test_more_than_all_is_refused():
    with pytest.raises(ValueError, match="3 of 2"):
        chance_of_fewer((3, 2), (0, 1))
