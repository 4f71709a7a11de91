"""The small charts: what each point is, and where it lies."""

import datetime
import re

import pytest

from readiness.child.charts import DAYS_DRAWN, chart_of, sureness_points, value_points
from readiness.engine.clean_rate import sureness
from readiness.record.standings import read
from tests.support.cast import TODAY

WEEKS = [TODAY - datetime.timedelta(weeks=back) for back in range(19, -1, -1)]


def gate(reading, stage, code):
    return next(g for g in reading.ladder.engine.stage[stage].gates if g.code == code)


def heights(path):
    return [float(y) for y in re.findall(r" ([\d.]+)", path)]


def test_each_dot_is_the_sureness_at_the_end_of_that_day_and_no_later_turn_counts(cast, log):
    outcomes = ["110", "111", "100", "111", "111"]
    for day, turns in zip(WEEKS[-5:], outcomes, strict=True):
        log(cast.mai, "sit-fall", turns, day=day, support=0)
    reading = read(cast.mai, TODAY)
    one = gate(reading, "5", "5.sit-fall")
    found = sureness_points(one, reading.evidence, TODAY, reading.ladder.engine, None)
    record = [(d, 3, t.count("1")) for d, t in zip(WEEKS[-5:], outcomes, strict=True)]
    assert [day for day, _ in found] == WEEKS[-5:]
    for at, (day, value) in enumerate(found, start=1):
        assert value == pytest.approx(sureness(record[:at], day, 0.6), abs=1e-6)


def test_the_last_point_is_of_today_even_with_no_class_today(cast, log):
    for day in WEEKS[-5:-1]:
        log(cast.mai, "sit-fall", "111", day=day, support=0)
    reading = read(cast.mai, TODAY)
    one = gate(reading, "5", "5.sit-fall")
    found = sureness_points(one, reading.evidence, TODAY, reading.ladder.engine, None)
    assert [day for day, _ in found] == WEEKS[-5:]
    assert found[-1][1] < found[-2][1]


def test_holds_are_drawn_by_the_day_s_best_and_grades_by_the_second_best(cast, log):
    log(cast.mai, "hollow-hold", [9, 14], day=WEEKS[-2], support=0)
    log(cast.mai, "hollow-hold", [18], day=WEEKS[-1], support=0)
    log(cast.mai, "sit-depth", [3, 1], day=WEEKS[-1], support=0)
    reading = read(cast.mai, TODAY)
    ladder = reading.ladder.engine
    holds = value_points(gate(reading, "2", "2.hollow-hold"), reading.evidence, TODAY, ladder)
    assert holds == [(WEEKS[-2], 14), (WEEKS[-1], 18)]
    grades = value_points(gate(reading, "5", "5.sit-depth"), reading.evidence, TODAY, ladder)
    assert grades == [(WEEKS[-1], 1)]


def test_only_the_latest_days_are_drawn_all_inside_the_box_with_more_higher(cast, log):
    for number, day in enumerate(WEEKS):
        log(cast.mai, "hollow-hold", [5 + number], day=day, support=0)
    reading = read(cast.mai, TODAY)
    one = gate(reading, "2", "2.hollow-hold")
    chart = chart_of(one, reading.evidence, TODAY, reading.ladder.engine, None)
    assert len(chart.dots) == DAYS_DRAWN
    assert (chart.first, chart.last) == (WEEKS[-DAYS_DRAWN], TODAY)
    assert heights(chart.line) == sorted(heights(chart.line), reverse=True)
    assert all(0 <= height <= 100 for height in heights(chart.line) + heights(chart.need))
    # 24 s is drawn above the 15 s that are asked for.
    assert heights(chart.line)[-1] < heights(chart.need)[0]


def test_one_day_alone_or_a_gate_without_a_series_is_not_drawn(cast, log):
    log(cast.mai, "hollow-hold", [9], support=0)
    reading = read(cast.mai, TODAY)
    ladder = reading.ladder.engine
    for stage, code in (("2", "2.hollow-hold"), ("4", "4.clear"), ("4", "4.seen-by-two")):
        assert chart_of(gate(reading, stage, code), reading.evidence, TODAY, ladder, None) is None
