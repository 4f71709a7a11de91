"""The end of a term: who stays, who moves where, and that places are counted."""

import datetime

import pytest
import time_machine

from readiness.models import ClassAim
from readiness.term.plan import Member, plan_term
from studio.models import ClassListChange
from tests.support.cast import NOW, TODAY, make_child, make_class
from tests.support.pages import get, text_of
from tests.support.ready import place_at


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def aims(cast):
    """Blue for stages 1 and 2, red for 3 to 5 with two places."""
    about = ((cast.blue, 1, 2, 8), (cast.red, 3, 5, 2))
    return [
        ClassAim.objects.create(group=group, lowest=low, highest=high, places=places)
        for group, low, high, places in about
    ]


def planned(members, aims):
    plan = plan_term(members, aims)
    return [(move.member.child.name, move.to, move.fits) for move in plan.moves], plan.after


def test_who_fits_stays_and_who_does_not_goes_where_a_place_is(cast, aims):
    members = [
        Member(cast.mai, [cast.blue], 3),
        Member(cast.ilse, [cast.blue], 1),
        Member(cast.rosa, [cast.red], 4),
    ]
    moves, after = planned(members, aims)
    assert moves == [("Mai Tran", cast.red, True)]
    assert (after[cast.blue.pk], after[cast.red.pk]) == (1, 2)


def test_a_full_class_takes_nobody(cast, aims):
    members = [
        Member(cast.mai, [cast.blue], 3),
        Member(cast.ilse, [cast.blue], 3),
        Member(cast.rosa, [cast.red], 4),
    ]
    moves, after = planned(members, aims)
    assert moves == [("Mai Tran", cast.red, True), ("Ilse Brand", None, True)]
    assert after[cast.red.pk] == 2


def test_a_stage_that_no_class_of_the_hall_is_for_is_said(cast, aims):
    far = ClassAim.objects.create(group=cast.far, lowest=6, highest=9, places=9)
    moves, _after = planned([Member(cast.mai, [cast.blue], 7)], [*aims, far])
    assert moves == [("Mai Tran", None, False)]


def test_the_class_with_most_places_left_comes_first(cast, aims):
    green = make_class("Green", cast.hall)
    more = ClassAim.objects.create(group=green, lowest=3, highest=4, places=6)
    moves, _after = planned([Member(cast.mai, [cast.blue], 3)], [*aims, more])
    assert moves == [("Mai Tran", green, True)]


def test_who_is_in_a_class_of_which_nothing_is_said_stays(cast, aims):
    assert planned([Member(cast.mai, [make_class("Green", cast.hall)], 9)], aims)[0] == []


# --- the page --------------------------------------------------------------------------


def sent(client, cast, **said):
    client.force_login(cast.petra)
    data = {"keep": "aims"}
    for name, (low, high, places) in said.items():
        prefix = getattr(cast, name).uuid
        data |= {f"{prefix}-lowest": low, f"{prefix}-highest": high, f"{prefix}-places": places}
    return client.post("/term-end", data)


def test_what_is_said_of_the_classes_is_kept_and_the_plan_follows(cast, client):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=4))
    assert sent(client, cast, blue=(1, 2, 8), red=(3, 5, 2)).status_code == 302
    words = text_of(client.get("/term-end"))
    assert "Who would move 2" in words
    # Nobody was moved.
    assert cast.mai in cast.blue.children.all()
    assert not ClassListChange.objects.exists()
    assert sent(client, cast).status_code == 302
    assert not ClassAim.objects.exists()


@pytest.mark.parametrize("said", [(3, 1, 5), (1, "", 5), (1, 2, 0), (1, 12, 4)])
def test_what_makes_no_sense_is_refused(cast, client, said):
    assert sent(client, cast, blue=said).status_code == 422
    assert not ClassAim.objects.exists()


def test_queries_stay_the_same_with_more_children(cast, client, django_assert_max_num_queries):
    def queries():
        get(client, cast.petra, "/term-end")
        with django_assert_max_num_queries(60) as asked:
            client.get("/term-end")
        return len(asked)

    few = queries()
    for number in range(10):
        make_child(f"Kid{number} More", cast.blue)
    assert queries() == few
