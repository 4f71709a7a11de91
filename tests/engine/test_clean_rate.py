"""Sureness and lately: published values, worked days, and the promise."""

import datetime

import pytest
from scipy.stats import binom

from readiness.engine import clean_turns_to_open, lately, sureness
from readiness.engine.clean_rate import Decay, read_clean
from readiness.engine.gates import CleanRule

FIRST = datetime.date(2026, 1, 5)
PRACTICE = CleanRule(rate=0.6, certainty=0.9, days=3, clean=6)
UNSPOTTED = CleanRule(rate=0.8, certainty=0.8, days=4, clean=12)
NO_FADING = {"memory_days": float("inf"), "memory_time": float("inf"), "day_correlation": 0}
# Days 0 (2 of 3), 7, 14, 21, 28, 35 (3 of 3): the six worked days.
SIX_DAYS = [(0, 3, 2), (7, 3, 3), (14, 3, 3), (21, 3, 3), (28, 3, 3), (35, 3, 3)]


def day(number):
    return FIRST + datetime.timedelta(days=number)


def on(*triples):
    return [(day(number), turns, clean) for number, turns, clean in triples]


def test_knowing_nothing_is_one_minus_the_rate():
    assert sureness([], FIRST, 0.8) == pytest.approx(0.2, abs=1e-12)
    assert lately([], FIRST, 0.6) == pytest.approx(0.4, abs=1e-12)


# The binomial identity: Abramowitz & Stegun, Handbook of Mathematical Functions, 26.5.24
# (number from memory; the identity is exact). Each turn on a day of its own, no fading.
@pytest.mark.parametrize(
    ("clean", "misses", "rate", "expected"),
    [
        (7, 0, 0.75, 0.8998870849609375),  # Beta(8, 1): 1 - .75^8, exact
        (18, 2, 0.75, 0.9254765194350512),  # Beta(19, 3)
        (9, 1, 0.9, 0.3026431197999998),  # Beta(10, 2)
    ],
)
def test_whole_counts_agree_with_the_binomial(clean, misses, rate, expected):
    outcomes = [1] * clean + [0] * misses
    days = on(*((at, 1, outcome) for at, outcome in enumerate(outcomes)))
    result = sureness(days, day(len(days)), rate, **NO_FADING)
    assert result == pytest.approx(expected, abs=1e-12)
    turns = clean + misses
    assert result == pytest.approx(binom.cdf(clean, turns + 1, rate), abs=1e-12)


# Success-run rule with a uniform prior, n = ln(1-C)/ln(R) - 1 (exact by formula; the
# classical pairs 90/90, 95/90, 95/95 from memory).
@pytest.mark.parametrize(
    ("certainty", "rate", "needed"), [(0.9, 0.9, 21), (0.95, 0.9, 28), (0.95, 0.95, 58)]
)
def test_success_run_rule(certainty, rate, needed):
    enough = on(*((at, 1, 1) for at in range(needed)))
    assert sureness(enough, day(100), rate, **NO_FADING) >= certainty
    assert sureness(enough[1:], day(100), rate, **NO_FADING) < certainty


def test_turns_of_one_day_hang_together():
    # Design effect 1 + (n - 1)·rho: Kish, Survey Sampling, 1965 (from memory). Ten turns at
    # rho = .1 count as 5.263158, so a = 6.263158; worked by an independent incomplete beta.
    assert sureness(on((0, 10, 10)), FIRST, 0.75) == pytest.approx(0.834998, abs=1e-6)
    by_two_coaches = on((0, 5, 5), (0, 5, 5))
    assert sureness(by_two_coaches, FIRST, 0.75) == sureness(on((0, 10, 10)), FIRST, 0.75)


# Three clean of three on days 0, 7, 14, 21, read on the newest; worked by hand with an
# independent incomplete beta.
@pytest.mark.parametrize(
    ("days", "expected"), [(1, 0.542053), (2, 0.717436), (3, 0.813956), (4, 0.870425)]
)
def test_three_of_three_week_by_week(days, expected):
    record = on(*((7 * at, 3, 3) for at in range(days)))
    assert sureness(record, record[-1][0], 0.8) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("read_on", "expected"), [(35, 0.858068), (42, 0.845161), (91, 0.744656)])
def test_six_days_fade(read_on, expected):
    assert sureness(on(*SIX_DAYS), day(read_on), 0.8) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("today", "expected"),
    [((1, 0), 0.364770), ((2, 0), 0.191813), ((3, 0), 0.104951), ((3, 1), 0.270568)],
)
def test_lately_after_a_bad_start_on_day_42(today, expected):
    assert lately(on(*SIX_DAYS), day(35), 0.8) == pytest.approx(0.793868, abs=1e-6)
    record = on(*SIX_DAYS, (42, *today))
    assert lately(record, day(42), 0.8) == pytest.approx(expected, abs=1e-6)


def test_order_and_the_future_do_not_matter():
    record = on(*SIX_DAYS)
    shuffled = [record[at] for at in (3, 0, 5, 1, 4, 2)]
    assert sureness(shuffled, day(35), 0.8) == sureness(record, day(35), 0.8)
    later = on((36, 9, 0))
    assert sureness(record + later, day(35), 0.8) == sureness(record, day(35), 0.8)


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="4 clean of 3 turns"):
        sureness(on((0, 3, 4)), FIRST, 0.8)
    with pytest.raises(ValueError, match="rate must lie between 0 and 1"):
        sureness([], FIRST, 1.0)


def test_ten_clean_in_one_day_never_close_a_gate():
    # Performance in one session is no index of learning: Soderstrom & Bjork, Perspectives
    # on Psychological Science 2015;10:176-199.
    for turns in (10, 40):
        read = read_clean(on((0, turns, turns)), FIRST, PRACTICE)
        assert not read.met
        assert read.progress <= 1 / 3


@pytest.mark.parametrize(("age", "met"), [(28, True), (29, False)])
def test_the_newest_clean_turn_may_be_28_days_old(age, met):
    record = on((0, 6, 6), (1, 6, 6), (2, 6, 6), (3, 6, 6))
    assert read_clean(record, day(3 + age), PRACTICE).met is met


@pytest.mark.parametrize(("age", "days"), [(84, 1), (85, 0)])
def test_clean_turns_count_for_84_days(age, days):
    assert read_clean(on((0, 3, 3)), day(age), PRACTICE).clean_days == days


def test_a_miss_does_not_keep_a_record_fresh():
    record = on((0, 6, 6), (1, 6, 6), (2, 6, 6), (3, 6, 6), (31, 1, 0))
    assert read_clean(record, day(31), PRACTICE).met
    assert not read_clean(record, day(32), PRACTICE).met


def test_progress_stays_below_one_while_anything_is_missing():
    stale = read_clean(on((0, 6, 6), (1, 6, 6), (2, 6, 6)), day(40), PRACTICE)
    assert not stale.met
    assert stale.progress == 0.99


def test_the_promise_is_kept_and_one_turn_fewer_is_not_enough():
    record = on((0, 3, 2), (7, 3, 3), (14, 3, 2))
    coming = [day(number) for number in (21, 28, 35, 42)]
    turns, days = clean_turns_to_open(record, day(15), UNSPOTTED, coming)
    spread = [(coming[at], turns // days + (at < turns % days)) for at in range(days)]
    recent = record + [(d, n, n) for d, n in spread]
    assert read_clean(recent, coming[days - 1], UNSPOTTED).met
    fewer = [(coming[at], (turns - 1) // days + (at < (turns - 1) % days)) for at in range(days)]
    short = record + [(d, n, n) for d, n in fewer]
    assert not read_clean(short, coming[days - 1], UNSPOTTED).met


def test_the_promise_is_nothing_more_when_the_gate_is_met():
    record = on((0, 6, 6), (1, 6, 6), (2, 6, 6), (3, 6, 6))
    assert clean_turns_to_open(record, day(3), PRACTICE, [day(7)]) == (0, 0)
    # Today's turns are among them: the third day that is asked for.
    assert clean_turns_to_open(record[:3], day(2), PRACTICE, [day(7)]) == (0, 0)


def test_there_is_no_promise_without_enough_days():
    assert clean_turns_to_open([], FIRST, PRACTICE, [day(0), day(7)]) is None
    assert clean_turns_to_open([], FIRST, PRACTICE, []) is None


def test_the_promise_puts_fifteen_turns_on_a_day_at_most():
    fifteen, sixteen = (CleanRule(rate=0.6, certainty=0.6, days=1, clean=n) for n in (15, 16))
    assert clean_turns_to_open([], FIRST, fifteen, [day(1)]) == (15, 1)
    assert clean_turns_to_open([], FIRST, sixteen, [day(1)]) is None
    assert clean_turns_to_open([], FIRST, sixteen, [day(1), day(2)]) == (16, 2)


def test_the_promise_counts_on_today_and_not_on_yesterday():
    easy = CleanRule(rate=0.6, certainty=0.6, days=1, clean=3)
    assert clean_turns_to_open([], day(1), easy, [day(1)]) == (3, 1)
    assert clean_turns_to_open([], day(1), easy, [day(0)]) is None


def test_the_promise_looks_at_twelve_days_at_most():
    misses = on(*((at, 15, 0) for at in range(12)))
    far = [day(20 + at) for at in range(40)]
    assert clean_turns_to_open(misses, day(12), UNSPOTTED, far) == clean_turns_to_open(
        misses, day(12), UNSPOTTED, far[:12]
    )


def test_the_ladder_may_set_its_own_memory():
    quick = Decay(days=2, time=84, day_correlation=0.1)
    record = on(*SIX_DAYS)
    assert read_clean(record, day(35), UNSPOTTED, quick).sureness == pytest.approx(
        lately(record, day(35), 0.8), abs=1e-6
    )
