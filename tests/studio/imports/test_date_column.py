"""One order of day and month for a whole column."""

import datetime

import pytest

from studio.imports.date_column import (
    DAY_FIRST,
    MONTH_FIRST,
    DateColumn,
    DateError,
    looks_like_date,
    read_date,
    read_date_column,
    read_month,
)

TODAY = datetime.date(2026, 5, 20)


def test_one_cell_that_can_only_be_day_first_decides_the_column():
    assert read_date_column(["03/04/2016", "11/12/2015", "25/06/2016"]) == DateColumn(DAY_FIRST)
    assert read_date("03/04/2016", DAY_FIRST, TODAY) == datetime.date(2016, 4, 3)


def test_one_cell_that_can_only_be_month_first_decides_the_column():
    assert read_date_column(["03/04/2016", "12/31/2015"]) == DateColumn(MONTH_FIRST)
    assert read_date("03/04/2016", MONTH_FIRST, TODAY) == datetime.date(2016, 3, 4)


def test_a_column_that_does_not_say_must_be_asked_for():
    column = read_date_column(["2016-04-03", "03/04/2016", "11/12/2015"])
    assert (column.order, column.ask) == ("", True)
    assert column.examples == ("03/04/2016", "11/12/2015")


def test_an_answer_stands():
    assert read_date_column(["03/04/2016"], MONTH_FIRST) == DateColumn(MONTH_FIRST)


def test_a_column_that_contradicts_itself_must_be_asked_for():
    column = read_date_column(["25/06/2016", "12/31/2015", "01/02/2016"])
    assert column == DateColumn("", ask=True, examples=("25/06/2016", "12/31/2015"))


def test_days_impossible_either_way_decide_nothing():
    assert read_date_column(["29/02/2015", "31/31/2015"]) == DateColumn("")
    assert read_date_column(["29/02/2015", "03/04/2016"]).ask


def test_the_same_day_and_month_need_no_order():
    assert read_date_column(["03/03/2016", "2016-04"]) == DateColumn("")


def test_dates_with_dots_are_day_first_by_themselves_but_do_not_speak_for_slashes():
    assert read_date_column(["3.4.16", "01.02.2016"]) == DateColumn(DAY_FIRST)
    assert read_date_column(["3.4.16", "01/02/2016"]).ask


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("2016-04-03", "2016-04-03"),
        ("2016/4/3", "2016-04-03"),
        ("2016-04-03 00:00:00", "2016-04-03"),
        ("2016-04-03T09:30", "2016-04-03"),
        ("03/04/2016", "2016-04-03"),
        ("3-4-2016", "2016-04-03"),
        ("3. 4. 2016", "2016-04-03"),
        ("3.4.16", "2016-04-03"),
        ("29/02/16", "2016-02-29"),
        # "By default, January 1, 1900 is serial number 1, and January 1, 2008 is serial
        # number 39448" (Microsoft Support, DATEVALUE function).
        ("39448", "2008-01-01"),
        ("39448,0", "2008-01-01"),
        ("45123", "2023-07-16"),
    ],
)
def test_a_date_is_read(cell, day):
    assert read_date(cell, DAY_FIRST, TODAY).isoformat() == day


@pytest.mark.parametrize(
    ("cell", "word"),
    [
        ("29/02/2015", "no such day"),
        ("2015-02-29", "no such day"),
        ("12/31/2015", "day first"),
        ("spring", "cannot be read"),
        ("16-04-03", "cannot be read"),
        ("3/5", "cannot be read"),
        ("12345", "cannot be read"),
        ("2026-05-21", "future"),
        ("2031-01-01", "future"),
    ],
)
def test_what_is_no_date_is_refused_with_a_reason(cell, word):
    with pytest.raises(DateError, match=word):
        read_date(cell, DAY_FIRST, TODAY)


def test_today_is_not_the_future():
    assert read_date("2026-05-20", "", TODAY) == TODAY


def test_a_year_of_two_digits_is_the_last_such_year():
    assert read_date("1.2.26", DAY_FIRST, TODAY).year == 2026
    assert read_date("1.2.27", DAY_FIRST, TODAY).year == 1927


@pytest.mark.parametrize("cell", ["2016-04", "2016/4", "04/2016", "4.2016", "03/04/2016"])
def test_a_month_is_enough(cell):
    assert read_month(cell, DAY_FIRST, TODAY) == (2016, 4)


@pytest.mark.parametrize(
    ("cell", "word"), [("2016-13", "no such month"), ("2026-06", "future"), ("Apr", "date")]
)
def test_what_is_no_month_is_refused(cell, word):
    with pytest.raises(DateError, match=word):
        read_month(cell, DAY_FIRST, TODAY)


@pytest.mark.parametrize("cell", ["3/5/2024", "2024-05-03", "5-Mar", "03. Mai", "3.5.24"])
def test_what_a_spreadsheet_makes_of_a_score_is_known(cell):
    assert looks_like_date(cell)


@pytest.mark.parametrize("cell", ["3/5", "12", "clean", "2.5", "not clean"])
def test_a_score_is_no_date(cell):
    assert not looks_like_date(cell)
