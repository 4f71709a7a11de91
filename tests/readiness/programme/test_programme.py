"""The programme: what it counts, and how it is drawn."""

import datetime

import pytest
import time_machine

from readiness.engine.statistics.time_in_stage import Stay, survival
from readiness.programme import facts
from readiness.programme.charts import line_of, stairs_of
from readiness.programme.facts import Pupil
from readiness.programme.page import last_mondays, month_ends
from readiness.record.ladders import Ladders
from studio.models import Child
from tests.support.cast import NOW, TODAY, make_child
from tests.support.pages import get, text_of
from tests.support.ready import MAT, place_at

LATER = NOW + datetime.timedelta(hours=2)


def ago(weeks):
    return TODAY - datetime.timedelta(weeks=weeks)


def pupil(opened, first=60, last=0, left=None, held_by="", ahead="2"):
    """``opened``: by stage how many weeks ago, and by what."""
    return Pupil(
        Child(name="Mai Tran", left_on=ago(left) if left is not None else None),
        [],
        {code: (ago(weeks), how) for code, (weeks, how) in opened.items()},
        ahead,
        held_by,
        ago(first) if first is not None else None,
        ago(last) if last is not None else None,
    )


EVIDENCE = "evidence"


def test_children_are_counted_by_their_highest_stage_while_they_are_here():
    some = [
        pupil({"1": (50, "start"), "2": (40, EVIDENCE), "5": (10, EVIDENCE)}, first=50),
        pupil({"1": (30, "start")}, first=30, left=5),
    ]
    counts = facts.by_stage(some, [ago(52), ago(45), ago(20), ago(4), ago(0)])
    assert counts == {"1": [0, 1, 1, 0, 0], "2": [0, 0, 1, 0, 0], "5": [0, 0, 0, 1, 1]}


def test_a_stay_ends_when_a_stage_opens_that_needs_it(ladder):
    engine = Ladders().on(TODAY)
    # 2 and 5 both need 1: the first of them ends it.
    one = pupil({"1": (50, "start"), "2": (40, EVIDENCE), "5": (10, EVIDENCE)})
    left = pupil({"1": (30, "start")}, left=5)
    here = pupil({"1": (20, "start")})
    assert facts.stays_in("1", [one, left, here], engine) == [
        Stay(ago(50), ago(40)), Stay(ago(30), None, ago(5)), Stay(ago(20), None),
    ]  # fmt: skip


def test_what_a_placing_began_is_left_out_and_what_it_ended_is_lost_from_sight(ladder):
    engine = Ladders().on(TODAY)
    placed = pupil({"1": (50, "start"), "2": (30, "placing"), "3": (30, "placing")})
    assert facts.stays_in("1", [placed], engine) == [Stay(ago(50), None, ago(30))]
    assert facts.stays_in("2", [placed], engine) == []
    assert facts.stays_in("3", [placed], engine) == []


def test_time_in_stage_says_when_there_is_not_enough_history(ladder):
    engine = Ladders().on(TODAY)
    some = [pupil({"1": (50 + n, "start"), "2": (40, EVIDENCE)}) for n in range(8)]
    read = facts.times(some, engine, TODAY)
    assert (read["1"].code, read["1"].half.weeks) == ("ok", 13)
    assert facts.times(some[:7], engine, TODAY)["1"].code == "not-enough-history"
    # Nothing needs the last stage.
    assert "9" not in read


def test_the_gates_that_hold_most_come_first_with_how_long(ladder):
    engine = Ladders().on(TODAY)
    some = [
        *(
            pupil({"1": (weeks, "start")}, held_by="2.hollow-hold", first=weeks)
            for weeks in (10, 20, 40)
        ),
        pupil({"1": (9, "start")}, held_by="2.safe-fall", first=9),
        pupil({"1": (90, "start")}, held_by="2.hollow-hold", left=3),
    ]
    found = [(each.gate, each.children, each.weeks) for each in facts.holding(some, engine, TODAY)]
    assert found == [("2.hollow-hold", 3, 20), ("2.safe-fall", 1, 9)]


@pytest.mark.parametrize(("days", "named"), [(21, False), (22, True)])
def test_who_was_not_seen_for_three_weeks_is_named(days, named):
    one = pupil({}, last=0)
    one = Pupil(**{**one.__dict__, "last": TODAY - datetime.timedelta(days=days)})
    assert (facts.unseen([one], TODAY) == [one]) == named


def test_who_has_left_is_not_missed_and_who_never_came_is():
    assert facts.unseen([pupil({}, last=30, left=20)], TODAY) == []
    assert len(facts.unseen([pupil({}, first=None, last=None)], TODAY)) == 1


def test_a_month_ends_on_its_last_day_and_a_week_begins_on_monday():
    ends = month_ends(datetime.date(2026, 3, 4))
    assert ends[-3:] == [
        datetime.date(2026, 1, 31), datetime.date(2026, 2, 28), datetime.date(2026, 3, 4),
    ]  # fmt: skip
    assert ends[0] == datetime.date(2025, 4, 30)
    mondays = last_mondays(TODAY)
    assert (len(mondays), mondays[-1]) == (26, datetime.date(2026, 3, 2))


def test_lines_and_stairs_stay_in_their_box():
    assert line_of([0, 5, 10], 10).line == "M0.0 100.0L50.0 50.0L100.0 0.0"
    assert line_of([0], 0).line == "M0.0 100.0"
    steps = survival([(26, True), (52, False), (104, True), (130, True)])
    # 3 of 4 after 26 weeks, then 1 of 2: .75 · .5.
    assert stairs_of(steps, 104).line == "M0 0H25.0V25.0H100.0V62.5H100"


# --- the page --------------------------------------------------------------------------


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(LATER, tick=False):
        yield


def test_the_page_draws_each_chart_and_has_its_table(cast, client, log):
    place_at(cast, cast.mai, 3, ago(10))
    for weeks in (4, 2):
        log(cast.mai, "back-walkover", "110", day=ago(weeks), support=3, surface=MAT)
    log(cast.ilse, "hollow-hold", [20, 20], day=ago(8), support=0)
    answer = get(client, cast.petra, "/programme")
    html, words = answer.content.decode(), text_of(answer)
    assert html.count('class="chart-line"') == html.count("<figure>") >= 3
    assert html.count("<table") >= 4
    assert "not enough history" in words
    assert "Ilse Blue last seen on 7 Jan 2026" in words
    assert "Rosa Red not seen yet" in words
    assert "Mai Blue last seen" not in words
    chosen = text_of(get(client, cast.petra, f"/programme?class={cast.red.uuid}"))
    assert "Rosa" in chosen
    assert "Ilse" not in chosen


def test_another_halls_director_sees_none_of_it(cast, client, log):
    log(cast.mai, "back-walkover", "110", support=3, surface=MAT)
    assert "Mai" not in text_of(get(client, cast.dora, "/programme"))


def test_queries_stay_the_same_with_more_children(cast, client, django_assert_max_num_queries):
    def queries():
        client.force_login(cast.petra)
        client.get("/programme")
        with django_assert_max_num_queries(60) as asked:
            client.get("/programme")
        return len(asked)

    few = queries()
    for number in range(10):
        make_child(f"Kid{number} More", cast.blue)
    assert queries() == few
