"""The held turns of an evening, as the rule reads them off the record."""

import datetime

import pytest

from progression.models import Drill
from readiness.models import SpotterTraining
from readiness.stations.evening import gather as gather_module
from readiness.stations.evening.gather import Settled, gather, roster_of
from tests.support.cast import NOW, TODAY
from tests.support.ready import MAT, lacks_turns, place_at

pytestmark = pytest.mark.django_db
WEEK = datetime.timedelta(days=7)
DRILL = "back-walkover"


@pytest.fixture
def held(cast):
    """Both children may be held at the walkover, and Omar may spot it."""
    for child in (cast.mai, cast.ilse):
        place_at(cast, child, 3, TODAY - 10 * WEEK)
    SpotterTraining.objects.create(
        staff=cast.omar, drill=Drill.objects.get(key=DRILL), trained_by="Uma Voss", until=TODAY,
        age=30, by=cast.petra, day=TODAY, at=NOW,
    )  # fmt: skip
    return cast


def shares(cast):
    found = gather(roster_of(cast.meeting), Settled()).shares
    return {child: each.share for child, each in found.items()}


def test_three_each_of_an_evening_shared_two_at_least(held, log):
    """Six turns for two: two each, and whoever had few lately first; none had any."""
    found = shares(held)
    assert found.keys() == {held.mai.pk, held.ilse.pk}
    assert sum(each.turns for each in found.values()) == 6
    assert min(each.turns for each in found.values()) >= 2


def test_the_turns_stand_with_the_work_at_the_drill(held):
    evening = gather(roster_of(held.meeting), Settled())
    each = evening.shares[held.mai.pk]
    assert each.drill == DRILL
    assert evening.needs[held.mai.pk][DRILL].work.turns == each.share.turns


def test_what_was_held_on_earlier_evenings_is_read_and_unheld_turns_are_none(held, log):
    log(held.mai, DRILL, "11", day=TODAY - WEEK, support=3)
    log(held.mai, "safe-fall", "111", day=TODAY - WEEK, support=0)
    log(held.mai, DRILL, "1", day=TODAY - WEEK, support=0)
    log(held.mai, DRILL, "1", day=TODAY - 5 * WEEK, support=3)
    log(held.ilse, DRILL, "1111", day=TODAY - WEEK, support=3)
    mai, ilse = shares(held)[held.mai.pk].held, shares(held)[held.ilse.pk].held
    assert mai.earlier == (1, 2)
    assert (mai.turns_28, mai.days_since) == (2, 7)
    assert (mai.had_fewest, ilse.had_fewest) == (True, False)


def test_tonights_own_turns_are_no_earlier_evening(held, log):
    log(held.mai, DRILL, "11", support=3)
    assert shares(held)[held.mai.pk].held.earlier == ()


def test_nobody_here_may_spot_and_nothing_is_shared(held):
    held.blue.staff.remove(held.omar)
    held.meeting.staff.remove(held.omar)
    held.blue.staff.add(held.ines)
    assert shares(held) == {}


def test_a_child_under_nine_has_four_at_most(held):
    held.mai.birth_year, held.mai.birth_month = 2017, 4
    held.mai.save(update_fields=["birth_year", "birth_month"])
    # Eight, and nine in April.
    assert shares(held)[held.mai.pk].held.under_nine
    assert shares(held)[held.ilse.pk].held.most == 6


# --- good evenings ------------------------------------------------------------------------


def evenings_by_hand(days, turns):
    """Evenings a week apart, tonight the first, with so many clean turns each, until the gate of
    stage 4 is met: sure to .8 that the rate is .8, by P(Beta(a, 1) >= r) = 1 - r^a, twelve clean
    turns on four days. ``days``: weeks ago and clean turns, with none that was not clean."""
    days = [(-weeks, clean) for weeks, clean in days]
    for count in range(1, 13):
        days.append((count - 1, turns))
        last = days[-1][0]
        a = 1 + sum(
            clean * 2 ** (-later / 8 - 7 * (last - week) / 84) / (1 + 0.1 * (clean - 1))
            for later, (week, clean) in enumerate(reversed(days))
        )
        if 1 - 0.8**a >= 0.8 and sum(clean for _, clean in days) >= 12 and len(days) >= 4:
            return count
    return None


@pytest.mark.parametrize(("weeks", "evenings"), [((3, 2, 1), 1), ((2, 1), 2)])
def test_good_evenings_are_what_the_raw_turns_come_to(held, log, weeks, evenings):
    lacks_turns(held, log, held.mai, days=((5, 2), (4, 2), *((each, 1) for each in weeks)))
    log(held.mai, DRILL, "11", day=TODAY - 2 * WEEK, support=1, surface=MAT, by=held.ines)
    log(held.mai, DRILL, "11", day=TODAY - WEEK, support=1, surface=MAT, by=held.ines)
    found = shares(held)[held.mai.pk]
    days = [(each, 4 if each == 3 else 6) for each in weeks]
    assert evenings_by_hand(days, found.turns) == evenings
    assert found.held.good_evenings == evenings
    assert shares(held)[held.ilse.pk].held.good_evenings is None


def test_where_something_else_is_missing_no_evening_is_promised(held, log):
    """A second grader, whom stage 4 asks for."""
    lacks_turns(held, log, held.mai)
    found = shares(held)[held.mai.pk].held
    assert found.sureness is not None
    assert found.good_evenings is None


def test_turns_that_the_gate_does_not_count_promise_nothing(held, log, monkeypatch):
    """The same record, on an evening on an easier floor."""
    lacks_turns(held, log, held.mai)
    for weeks in (2, 1):
        log(held.mai, DRILL, "11", day=TODAY - weeks * WEEK, support=1, surface=MAT, by=held.ines)
    assert shares(held)[held.mai.pk].held.good_evenings == 1
    monkeypatch.setattr(gather_module, "surface_of", lambda *_: "wedge")
    assert shares(held)[held.mai.pk].held.good_evenings is None


def test_more_support_than_the_gate_asks_promises_nothing(held, log):
    """Logged at standing by, with no step given: hands are what is allowed tonight."""
    for weeks in (3, 2, 1):
        log(held.mai, DRILL, "1111", day=TODAY - weeks * WEEK, support=1, surface=MAT)
        log(held.mai, DRILL, "11", day=TODAY - weeks * WEEK, support=1, surface=MAT, by=held.ines)
    for weeks in (2, 1):
        log(held.mai, "bridge-line", [2, 2], day=TODAY - weeks * WEEK, support=0, surface=MAT)
    found = shares(held)[held.mai.pk].held
    assert found.sureness is not None
    assert found.good_evenings is None
