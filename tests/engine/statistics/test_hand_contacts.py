"""Hand contacts: landings counted from the ladder, and the week against the four weeks."""

import datetime
import tomllib

import pytest

from readiness.engine.ladder import Ladder
from readiness.engine.statistics.hand_contacts import (
    FEWEST,
    HALF_WHILE_GROWING,
    HandContacts,
    Landings,
    hand_contacts,
    landings,
)
from readiness.engine.tallies import Turn, tally_turns
from tests.support.cast import LADDER_FILE

TODAY = datetime.date(2026, 6, 1)


@pytest.fixture(scope="module")
def shipped():
    return Ladder.from_content(tomllib.loads(LADDER_FILE.read_text(encoding="utf-8")))


def ago(*counts):
    """(days ago, landings) ..."""
    return [Landings(TODAY - datetime.timedelta(days=age), count) for age, count in counts]


def turn(number, drill, day=TODAY, clean=None, value=None):
    at = datetime.datetime.combine(day, datetime.time(17, number), datetime.UTC)
    return Turn(f"t{number}", drill, "air-floor", 3, 1, day, at, True, clean, value)


def test_landings_come_from_the_ladder(shipped):
    turns = [
        turn(1, "handspring", clean=True),
        turn(2, "handspring", clean=False),
        turn(3, "two-handsprings", clean=True),
        turn(4, "handstand-hops", value=3),
        turn(5, "handstand-hops", value=2),
        turn(6, "wall-handstand", value=30),
        turn(7, "back-walkover", clean=True),
        turn(8, "barrel", day=TODAY - datetime.timedelta(days=1), clean=True),
    ]
    # Two handsprings 1 each, a pair 2, five hops 1 each; static support lands on nothing.
    assert landings(tally_turns(turns, shipped.stops), shipped.drills) == ago((1, 1), (0, 9))


def test_a_drill_no_longer_in_the_ladder_counts_nothing(shipped):
    assert landings(tally_turns([turn(1, "gone", clean=True)], {}), shipped.drills) == []


def test_the_same_every_week_is_one():
    read = hand_contacts(ago((0, 24), (7, 24), (14, 24), (21, 24)), TODAY)
    assert read == HandContacts("as-usual", 24, 24, 1)
    assert not read.caution


def test_half_as_much_again_is_a_caution_and_just_less_is_not():
    # Usual is (x + 3·20)/4 a week: x = 36 gives 36/24 = 1.5.
    much = hand_contacts(ago((0, 36), (7, 20), (14, 20), (21, 20)), TODAY)
    assert (much.code, much.week, much.usual, much.ratio, much.caution) == (
        "much-more", 36, 24, 1.5, True,
    )  # fmt: skip
    less = hand_contacts(ago((0, 35), (7, 20), (14, 20), (21, 20)), TODAY)
    assert (less.code, less.caution) == ("as-usual", False)


def test_compared_with_half_the_usual_the_same_every_week_is_a_caution():
    # Common practice, no source: a child who grows fast lands half as often.
    same = ago((0, 40), (7, 40), (14, 40), (21, 40))
    assert not hand_contacts(same, TODAY).caution
    halved = hand_contacts(same, TODAY, HALF_WHILE_GROWING)
    assert (halved.usual, halved.ratio, halved.code) == (40, 2, "much-more")
    assert halved.caution
    fewer = ago((0, 20), (7, 40), (14, 40), (21, 40))
    assert not hand_contacts(fewer, TODAY, HALF_WHILE_GROWING).caution


def test_a_handful_of_landings_is_no_caution():
    few = hand_contacts(ago((0, FEWEST - 1), (7, 2), (14, 2), (21, 2)), TODAY)
    assert (few.code, few.caution) == ("much-more", False)
    enough = hand_contacts(ago((0, FEWEST), (7, 2), (14, 2), (21, 2)), TODAY)
    assert enough.caution


def test_the_windows_are_seven_and_twenty_eight_dates():
    # Six days ago is in the week, seven is not; 27 is in the four weeks, 28 is not.
    assert hand_contacts(ago((6, 10), (27, 10)), TODAY) == HandContacts("much-more", 10, 5, 2)
    assert hand_contacts(ago((7, 10), (27, 10)), TODAY) == HandContacts("none-this-week", 0, 5)
    assert hand_contacts(ago((0, 10), (7, 10), (28, 99)), TODAY).usual == 5


def test_a_young_record_has_no_usual():
    assert hand_contacts(ago((0, 30), (7, 20), (20, 20)), TODAY) == HandContacts("no-usual-yet", 30)
    assert hand_contacts(ago((0, 30), (7, 20), (21, 20)), TODAY).usual == 17.5


def test_back_after_weeks_away():
    read = hand_contacts(ago((0, 24), (30, 24)), TODAY)
    assert (read.code, read.ratio, read.caution) == ("back-after-weeks", 4, True)


def test_nothing_and_nothing_this_week():
    assert hand_contacts([], TODAY) == HandContacts("none-this-week", 0, None)
    assert hand_contacts(ago((40, 9)), TODAY) == HandContacts("none-this-week", 0, None)


def test_later_days_and_days_of_nothing_do_not_count():
    tomorrow = Landings(TODAY + datetime.timedelta(days=1), 50)
    assert hand_contacts([tomorrow], TODAY).week == 0
    assert hand_contacts([*ago((0, 24), (28, 0)), tomorrow], TODAY).code == "no-usual-yet"
