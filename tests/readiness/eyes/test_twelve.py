"""Twelve drawn figures: graded once, for whoever graded them."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.eyes.twelve import figures_of, result_of
from readiness.models import Twelve, TwelveAnswers
from tests.support.cast import NOW
from tests.support.pages import text_of

HOUR = datetime.timedelta(hours=1)


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(NOW, tick=False):
        yield


def begun(client, staff, rubric="sit"):
    client.force_login(staff)
    answer = client.post("/eyes", {"rubric": rubric})
    assert answer.status_code == 302
    return Twelve.objects.get(by=staff, at=NOW)


def form_of(grades):
    return {f"grade-{at}": grade for at, grade in enumerate(grades, start=1)}


def test_a_set_is_drawn_and_says_nothing_of_what_it_is(client, cast):
    one = begun(client, cast.omar)
    page = client.get(f"/eyes/{one.uuid}")
    assert page.status_code == 200
    assert len(page.context["drawn"]["pose"]) == 12
    assert [each["angles"] for each in page.context["drawn"]["pose"]] == [
        each.angles for each in figures_of(Twelve.objects.get())
    ]
    assert "heels up" not in page.content.decode()


def test_all_right_is_full_agreement(client, cast):
    one = begun(client, cast.omar)
    right = [each.grade for each in figures_of(one)]
    page = client.post(f"/eyes/{one.uuid}", form_of(right), follow=True)
    text = text_of(page)
    assert "12 of 12 as they are." in text
    assert "Every grade was the same as the other." in text
    assert "Twelve more" in text


def test_who_gives_more_is_told_kind_and_which_sign_to_look_for(client, cast):
    one = begun(client, cast.omar)
    figures = figures_of(one)
    regions = one.ladder.content["rubric"][0]["regions"]
    given = [min(3, each.grade + 1) for each in figures]
    text = text_of(client.post(f"/eyes/{one.uuid}", form_of(given), follow=True))
    assert "3 of 12 as they are. Rather kind: 9 were given more than they are, 0 less." in text
    for each in figures:
        if each.grade < 3:
            assert regions[each.region]["sign"] in text
    one = Twelve.objects.get()
    assert result_of(one).kappa.turns == 12
    # Nine of twelve one grade too high, each grade three times: by hand with weights (i - j)²,
    # 9/12 disagree; with 3, 3 and 6 of 1, 2 and 3 given, (5.75 + 2.25 + .75 + 1.25)/4 by chance.
    assert result_of(one).kappa.kappa == pytest.approx(1 - 0.75 / 2.5)


def test_who_gives_less_is_told_strict(client, cast):
    one = begun(client, cast.omar, "bridge-line")
    given = [max(0, each.grade - 1) for each in figures_of(one)]
    text = text_of(client.post(f"/eyes/{one.uuid}", form_of(given), follow=True))
    assert "Rather strict: 9 were given less than they are, 0 more." in text
    assert "Look once more for" not in text


def test_answers_are_given_once(client, cast):
    one = begun(client, cast.omar)
    client.post(f"/eyes/{one.uuid}", form_of([1] * 12))
    again = client.post(f"/eyes/{one.uuid}", form_of([3] * 12), follow=True)
    assert "These were graded before" in text_of(again)
    assert TwelveAnswers.objects.get().grades == [1] * 12


@pytest.mark.parametrize("wrong", ["", "4", "-1", "two", "1.5"])
def test_a_figure_without_a_grade_is_named_and_nothing_is_kept(client, cast, wrong):
    one = begun(client, cast.omar)
    grades = [1] * 12
    grades[6] = wrong
    page = client.post(f"/eyes/{one.uuid}", form_of(grades))
    assert page.status_code == 422
    assert "Figure 7 has no grade from 0 to 3." in text_of(page)
    assert page.content.decode().count("checked") == 11
    assert not TwelveAnswers.objects.exists()


def test_there_are_no_figures_of_nothing(client, cast):
    client.force_login(cast.omar)
    assert client.post("/eyes", {"rubric": "walking"}).status_code == 422
    assert not Twelve.objects.exists()


def test_nobody_else_sees_a_set_and_a_director_sees_who_and_when_only(client, cast):
    one = begun(client, cast.omar)
    client.post(f"/eyes/{one.uuid}", form_of([2] * 12))
    client.force_login(cast.petra)
    assert client.get(f"/eyes/{one.uuid}").status_code == 404
    page = client.get("/eyes/agreement")
    assert page.context["done"] == [{"who": "Omar", "rubric": "The sit", "at": NOW}]
    client.force_login(cast.dora)
    assert client.get("/eyes/agreement").context["done"] == []


def test_many_sets_take_no_more_queries(client, cast):
    one = begun(client, cast.omar)
    with CaptureQueriesContext(connection) as few:
        assert len(client.get("/eyes").context["sets"]) == 1
    for at in range(1, 21):
        Twelve.objects.create(
            by=cast.omar, ladder=one.ladder, rubric="sit", seed=at, at=NOW - at * HOUR
        )
    with CaptureQueriesContext(connection) as many:
        assert len(client.get("/eyes").context["sets"]) == 20
    assert len(few) == len(many)
