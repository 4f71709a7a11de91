"""What the answers to hands-on spotting mean on a day: whose counts, and for how long."""

import datetime

import pytest

from studio.models import SpottingConsent
from studio.people.consents import answer_on, asked_again_on, changes

MARCH = datetime.date(2026, 3, 4)


def said(yes: bool, day: datetime.date, guardian: str = "", hour: int = 9) -> SpottingConsent:
    at = datetime.datetime.combine(day, datetime.time(hour), datetime.UTC)
    again = asked_again_on(day)
    return SpottingConsent(
        guardian=guardian, yes=yes, day=day, asked_again_on=again, at=at, pk=hour
    )


def test_nobody_asked_is_no_answer():
    assert answer_on([], MARCH) == "not-asked"


def test_one_guardians_no_suffices():
    both = [said(True, MARCH, "A. Tran"), said(False, MARCH, "B. Tran")]
    assert answer_on(both, MARCH) == "no"
    assert answer_on(both[::-1], MARCH) == "no"


def test_a_guardian_may_think_again():
    april = datetime.date(2026, 4, 1)
    own = [said(False, MARCH, "A. Tran"), said(True, april, "a.  tran")]
    assert answer_on(own, MARCH) == "no"
    assert answer_on(own, april) == "yes"


@pytest.mark.parametrize("again", ["ANH TRẦN", "Trần Anh", "Trần, Anh", "Anh Tran"])
def test_a_guardian_spelt_otherwise_is_the_same_guardian(again):
    april = datetime.date(2026, 4, 1)
    assert answer_on([said(False, MARCH, "Anh Trần"), said(True, april, again)], april) == "yes"
    assert answer_on([said(True, MARCH, "Anh Trần"), said(False, april, again)], april) == "no"


@pytest.mark.parametrize("other", ["A. Trần", "Anh", "Anh Trần Vo", "Ann Trần", ""])
def test_who_may_be_another_guardian_is_not_joined(other):
    """A no that might be somebody else's stays."""
    april = datetime.date(2026, 4, 1)
    assert answer_on([said(False, MARCH, "Anh Trần"), said(True, april, other)], april) == "no"


def test_an_answer_does_not_count_before_it_was_given():
    assert answer_on([said(True, MARCH)], MARCH - datetime.timedelta(days=1)) == "not-asked"


@pytest.mark.parametrize("yes", [True, False])
def test_each_season_it_is_asked_again(yes):
    """The season begins on 1 September (common practice, no source)."""
    last, first = datetime.date(2026, 8, 31), datetime.date(2026, 9, 1)
    assert answer_on([said(yes, MARCH)], last) == ("yes" if yes else "no")
    assert answer_on([said(yes, MARCH)], first) == "not-asked"


@pytest.mark.parametrize(
    ("day", "again"),
    [
        (datetime.date(2026, 9, 1), datetime.date(2027, 9, 1)),
        (datetime.date(2026, 3, 4), datetime.date(2026, 9, 1)),
        # Sixty days before the season a form is for the next one.
        (datetime.date(2026, 7, 2), datetime.date(2026, 9, 1)),
        (datetime.date(2026, 7, 3), datetime.date(2027, 9, 1)),
        (datetime.date(2026, 8, 31), datetime.date(2027, 9, 1)),
    ],
)
def test_a_form_of_the_summer_is_for_the_season_that_comes(day, again):
    assert asked_again_on(day) == again


def test_a_season_may_begin_on_another_day(settings):
    settings.SEASON_BEGINS = datetime.date(2001, 1, 15)
    assert asked_again_on(MARCH) == datetime.date(2027, 1, 15)


def test_the_answers_go_from_day_to_day():
    april = datetime.date(2026, 4, 1)
    went = changes([said(True, MARCH), said(False, april)], None)
    assert [(change.day, change.answer) for change in went] == [
        (datetime.date.min, "not-asked"),
        (MARCH, "yes"),
        (april, "no"),
        (datetime.date(2026, 9, 1), "not-asked"),
    ]


def test_days_before_it_was_asked_for_say_nothing():
    went = changes([], MARCH)
    assert [(change.day, change.answer) for change in went] == [(MARCH, "not-asked")]
    went = changes([said(True, MARCH)], MARCH)
    assert [(change.day, change.answer) for change in went] == [
        (MARCH, "yes"),
        (datetime.date(2026, 9, 1), "not-asked"),
    ]


def test_a_slip_of_the_tap_put_right_on_the_same_day_is_no_change():
    april = datetime.date(2026, 4, 1)
    slip = [said(True, MARCH), said(False, april, hour=10), said(True, april, hour=11)]
    assert [change.answer for change in changes(slip, MARCH)] == ["yes", "not-asked"]
