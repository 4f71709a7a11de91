"""The quiet child on the page of a class: who was held least in four weeks."""

import datetime

import pytest
import time_machine

from readiness.review.quiet import quiet_children
from tests.support.cast import NOW, TODAY, make_child
from tests.support.guards import forget_answers
from tests.support.pages import get, text_of
from tests.support.ready import MAT

LATER = NOW + datetime.timedelta(hours=2)
DAYS = [TODAY - datetime.timedelta(days=back) for back in (14, 7)]


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(LATER, tick=False):
        yield


@pytest.fixture
def held(cast, log):
    """Mai is held six times, Ilse twice; both were there twice."""
    for day in DAYS:
        log(cast.mai, "back-walkover", "111", day=day, support=3, surface=MAT)
        log(cast.ilse, "back-walkover", "1", day=day, support=2, surface=MAT)
        log(cast.ilse, "back-walkover", "111", day=day, support=1, surface=MAT)
    return [cast.ilse, cast.mai]


def named(children):
    return [(each.child.name, each.held, each.days) for each in quiet_children(children, TODAY)]


def test_who_was_held_least_is_named_with_how_often(held):
    assert named(held) == [("Ilse Brand", 2, 2)]


def test_nobody_is_named_where_all_were_held_equally_often(cast, log):
    for day in DAYS:
        for child in (cast.mai, cast.ilse):
            log(child, "back-walkover", "1", day=day, support=3, surface=MAT)
    assert named([cast.ilse, cast.mai]) == []


def test_who_may_not_be_held_or_was_hardly_there_is_not_named(cast, held, log):
    new = make_child("Ada New", cast.blue)
    log(new, "hollow-hold", [10.0], day=DAYS[0], support=0)
    assert named([*held, new]) == [("Ilse Brand", 2, 2)]
    forget_answers(cast.ilse)
    assert named([*held, new]) == []


def test_turns_of_more_than_four_weeks_ago_do_not_count(cast, held, log):
    old = TODAY - datetime.timedelta(days=28)
    log(cast.ilse, "back-walkover", "111111", day=old, support=3, surface=MAT)
    assert named(held) == [("Ilse Brand", 2, 2)]


def test_it_stands_on_the_page_of_the_class(cast, client, held):
    words = text_of(get(client, cast.omar, f"/classes/{cast.blue.uuid}"))
    assert "Least held in four weeks" in words
    assert "Ilse 2 held turns on 2 days with turns" in words
