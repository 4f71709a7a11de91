"""Who may spot a drill. 18 as the youngest age: common practice, no source."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.evening.spotters import YOUNGEST, Training, why_unfit

WRITTEN = datetime.date(2026, 3, 4)


def trained(age: int = 30, until: datetime.date = datetime.date(2027, 3, 4)) -> Training:
    return Training(WRITTEN, age, until)


@pytest.mark.parametrize(
    ("training", "day", "why"),
    [
        (None, WRITTEN, "missing"),
        (trained(), WRITTEN, None),
        (trained(), datetime.date(2027, 3, 4), None),
        (trained(), datetime.date(2027, 3, 5), "expired"),
        (trained(18), WRITTEN, None),
        (trained(17), WRITTEN, "too-young"),
        (trained(17), datetime.date(2027, 3, 3), "too-young"),
        # A whole year after 17 was written down: 18 at least.
        (trained(17), datetime.date(2027, 3, 4), None),
    ],
)
def test_trained_until_then_and_old_enough(training, day, why):
    assert why_unfit(training, YOUNGEST, day) == why


def test_a_studio_may_ask_for_another_age():
    assert why_unfit(trained(20), 21, WRITTEN) == "too-young"
    assert why_unfit(trained(16), 16, WRITTEN) is None


def test_written_down_on_a_leap_day():
    training = Training(datetime.date(2024, 2, 29), 17, datetime.date(2030, 1, 1))
    assert training.age_on(datetime.date(2025, 2, 28)) == 17
    assert training.age_on(datetime.date(2025, 3, 1)) == 18


@given(st.dates(WRITTEN), st.integers(14, 80), st.dates(WRITTEN), st.integers(14, 30))
def test_an_older_spotter_and_a_later_end_never_make_anybody_unfit(day, age, until, youngest):
    if day.year < 9000 and why_unfit(trained(age, until), youngest, day) is None:
        later = until + datetime.timedelta(days=1) if until.year < 9999 else until
        assert why_unfit(trained(age + 1, later), youngest, day) is None
