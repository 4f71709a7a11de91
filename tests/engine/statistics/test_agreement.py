"""Agreement, against published tables, scikit-learn and statsmodels."""

import numpy as np
import pytest
from scipy.stats import fisher_exact
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa

from readiness.engine.statistics.agreement import (
    Logged,
    icc,
    quadratic_kappa,
    quadratic_weights,
    weighted_kappa,
    who_logs_only_clean,
)

# Cohen, Psychological Bulletin 1968;70:213-220, proportions (as in the manual of the R package
# psych, kappa); out of 100.
COHEN = np.array([[44, 7, 9], [5, 20, 5], [1, 3, 6]], dtype=float)
# Fleiss, Cohen & Everitt, Psychological Bulletin 1969;72:323, counts (psych, DescTools).
FLEISS = np.array([[106, 10, 4], [22, 28, 10], [2, 12, 6]], dtype=float)
ALL_OR_NOTHING = 1 - np.eye(3)


@pytest.mark.parametrize(
    ("weights", "kappa"),
    [
        (ALL_OR_NOTHING, 0.492),
        (np.array([[0, 1, 3], [1, 0, 6], [3, 6, 0]], dtype=float), 0.348),
        (np.array([[0, 1, 4], [1, 0, 6], [2, 2, 0]], dtype=float), 0.353),
    ],
)
def test_cohen_1968(weights, kappa):
    assert weighted_kappa(COHEN, weights).kappa == pytest.approx(kappa, abs=5.1e-4)


def test_quadratic_kappa_of_both_tables():
    # Worked out; no publication gives them.
    assert weighted_kappa(COHEN, quadratic_weights(3)).kappa == pytest.approx(0.454545, abs=5e-7)
    assert weighted_kappa(FLEISS, quadratic_weights(3)).kappa == pytest.approx(0.566667, abs=5e-7)


def test_fleiss_cohen_everitt_1969():
    # .429, and .507 with the paper's weights of agreement; values and weights from memory.
    assert weighted_kappa(FLEISS, ALL_OR_NOTHING).kappa == pytest.approx(0.4286, abs=5.1e-5)
    agree = np.array([[1, 0, 0.4444], [0, 1, 0.6667], [0.4444, 0.6667, 1]])
    assert weighted_kappa(FLEISS, 1 - agree).kappa == pytest.approx(0.5071, abs=5.1e-5)


def test_sas_example_with_error_and_interval():
    # SAS manual, as tested in statsmodels, stats/tests/test_inter_rater.py.
    table = np.array([[0, 4, 1], [0, 8, 0], [0, 1, 5]], dtype=float)
    read = weighted_kappa(table, ALL_OR_NOTHING)
    assert read.kappa == pytest.approx(0.4842, abs=5e-5)
    assert read.error == pytest.approx(0.1380, abs=5e-5)
    assert read.interval == pytest.approx((0.2137, 0.7547), abs=5e-5)


@pytest.mark.parametrize("table", [COHEN, FLEISS])
def test_error_matches_statsmodels(table):
    theirs = cohens_kappa(table, weights=np.arange(3), wt="quadratic")
    ours = weighted_kappa(table, quadratic_weights(3))
    assert ours.kappa == pytest.approx(theirs.kappa, abs=1e-12)
    assert ours.error == pytest.approx(theirs.std_kappa, abs=1e-12)
    simple = weighted_kappa(table, ALL_OR_NOTHING)
    assert simple.error == pytest.approx(cohens_kappa(table).std_kappa, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_quadratic_kappa_matches_scikit_learn(seed):
    draw = np.random.default_rng(seed)
    one = draw.integers(0, 4, 30)
    other = np.clip(one + draw.integers(-1, 2, 30), 0, 3)
    theirs = cohen_kappa_score(one, other, weights="quadratic", labels=[0, 1, 2, 3])
    ours = quadratic_kappa(zip(one.tolist(), other.tolist(), strict=True))
    assert ours.kappa == pytest.approx(theirs, abs=1e-12)
    assert ours.interval[0] < ours.kappa < ours.interval[1] <= 1


def test_kappa_is_undefined_when_both_gave_one_same_grade():
    read = quadratic_kappa([(2, 2)] * 10)
    assert (read.code, read.turns, read.kappa, read.interval) == ("one-grade", 10, None, None)


def test_full_agreement_is_one_without_a_promise():
    read = quadratic_kappa([(2, 2), (3, 3), (1, 1)])
    assert (read.code, read.kappa, read.interval) == ("all-alike", 1.0, None)


@pytest.mark.parametrize(
    "one_grade", [[(1, n % 4) for n in range(40)], [(n % 4, 1) for n in range(40)]]
)
def test_whoever_gives_one_grade_throughout_agrees_as_by_chance_and_no_span_is_promised(one_grade):
    """Disagreement by chance and as seen are then the same sum, whatever the other saw."""
    read = quadratic_kappa(one_grade)
    assert (read.code, read.kappa, read.interval) == ("one-sided", 0.0, None)


def test_no_turn_graded_twice():
    assert quadratic_kappa([]).code == "no-turns"


def test_worse_than_chance_is_negative():
    assert quadratic_kappa([(0, 3), (3, 0), (1, 2), (2, 1)]).kappa == pytest.approx(-1)


# Shrout & Fleiss, Psychological Bulletin 1979;86:420-428: six targets, four judges (as in
# psych, ICC; intervals and F as tested in pingouin, tests/test_reliability.py).
SHROUT_FLEISS = [
    [9, 2, 5, 8],
    [6, 1, 3, 2],
    [8, 4, 6, 8],
    [7, 1, 2, 6],
    [10, 5, 6, 9],
    [6, 2, 4, 7],
]
ICC_TABLE = [
    ("1,1", 0.17, 0.165742, (-0.13, 0.72), 1.8),
    ("2,1", 0.29, 0.289764, (0.02, 0.76), 11.0),
    ("3,1", 0.71, 0.714841, (0.34, 0.95), 11.0),
    ("1,k", 0.44, 0.442797, (-0.88, 0.91), 1.8),
    ("2,k", 0.62, 0.620051, (0.07, 0.93), 11.0),
    ("3,k", 0.91, 0.909316, (0.68, 0.99), 11.0),
]


@pytest.mark.parametrize(("form", "published", "unrounded", "interval", "f"), ICC_TABLE)
def test_shrout_and_fleiss_1979(form, published, unrounded, interval, f):
    read = icc(SHROUT_FLEISS, form)
    assert (read.turns, read.graders) == (6, 4)
    assert read.value == pytest.approx(published, abs=5.1e-3)
    assert read.value == pytest.approx(unrounded, abs=1e-6)
    assert read.interval == pytest.approx(interval, abs=5.1e-3)
    assert read.f == pytest.approx(f, abs=0.051)


def test_icc_for_two_clocks_is_absolute_agreement():
    # A clock that always shows five seconds more agrees in order, not in seconds.
    holds = [[20, 25], [22, 27], [30, 35], [41, 46]]
    assert icc(holds, "3,1").value == pytest.approx(1)
    assert icc(holds).value < 0.95
    assert icc(holds).form == "2,1"


def test_icc_of_full_agreement():
    read = icc([[1, 1], [2, 2], [3, 3]])
    assert (read.value, read.interval) == (1.0, (1.0, 1.0))


@pytest.mark.parametrize(
    "ratings", [[[1, 2]], [[1], [2]], [[2, 2], [2, 2]], [[1, 3], [1, 3]], [1, 2]]
)
def test_icc_is_none_where_there_is_nothing_to_compare(ratings):
    assert icc(ratings) is None


def test_icc_is_low_where_children_do_not_differ():
    read = icc([[1, 3], [3, 1], [2, 2]], "1,k")
    assert read.value < 0


# --- who logs only clean turns ---------------------------------------------------------


def codes(*logs):
    return {each.author: each.code for each in who_logs_only_clean(Logged(*log) for log in logs)}


def test_only_clean_turns_where_others_miss_one_in_four_is_seen():
    result = codes((1, "walkover", 60, 60), (2, "walkover", 200, 150), (3, "walkover", 180, 138))
    assert result == {1: "only-clean", 2: "as-the-others", 3: "as-the-others"}


def test_a_few_misses_among_too_many_clean_is_seen_too():
    result = codes((1, "walkover", 120, 116), (2, "walkover", 200, 150))
    assert result[1] == "too-good"


def test_a_good_class_is_not_blamed():
    result = codes((1, "walkover", 60, 48), (2, "walkover", 200, 150))
    assert result == {1: "as-the-others", 2: "as-the-others"}


def test_drills_are_compared_each_with_itself():
    # All clean at an easy drill says nothing; others hardly miss it either.
    result = codes(
        (1, "log-roll", 200, 199),
        (2, "log-roll", 200, 198),
        (2, "handspring", 200, 120),
        (3, "handspring", 200, 124),
    )
    assert set(result.values()) == {"as-the-others"}


def test_few_turns_and_lonely_drills_say_nothing():
    assert codes((1, "barrel", 29, 29), (2, "barrel", 200, 100))[1] == "too-few-turns"
    assert codes((1, "barrel", 30, 30), (2, "barrel", 200, 100))[1] == "only-clean"
    assert codes((1, "barrel", 90, 90)) == {1: "nobody-to-compare"}
    assert codes((1, "barrel", 90, 90), (2, "safe-fall", 90, 50))[1] == "nobody-to-compare"
    assert codes() == {}


def test_the_chance_is_fishers():
    # One drill: Fisher's exact test, one-sided, as in scipy.
    one, other = who_logs_only_clean([Logged(1, "a", 40, 37), Logged(2, "a", 60, 45)])
    theirs = fisher_exact([[3, 37], [15, 45]], alternative="less").pvalue
    assert one.chance == pytest.approx(theirs, abs=1e-12)
    assert (one.turns, one.missed, one.expected) == (40, 3, 40 * 15 / 60)
    assert other.chance > 0.99


def test_drills_add_up_as_they_would_by_enumeration():
    logs = [Logged(1, "a", 4, 4), Logged(2, "a", 6, 3), Logged(1, "b", 3, 2), Logged(2, "b", 3, 1)]
    from scipy.stats import hypergeom

    chance = sum(
        hypergeom.pmf(x, 10, 3, 4) * hypergeom.pmf(y, 6, 3, 3)
        for x in range(5)
        for y in range(4)
        if x + y <= 1
    )
    assert who_logs_only_clean(logs)[0].chance == pytest.approx(chance, abs=1e-12)


def test_turns_of_one_author_are_added():
    once = who_logs_only_clean([Logged(1, "a", 40, 37), Logged(2, "a", 60, 45)])
    parts = [Logged(1, "a", 10, 9), Logged(1, "a", 30, 28), Logged(2, "a", 60, 45)]
    assert who_logs_only_clean(parts) == once


def test_more_clean_turns_than_turns_is_refused():
    with pytest.raises(ValueError, match="clean=5"):
        who_logs_only_clean([Logged(1, "a", 4, 5)])
