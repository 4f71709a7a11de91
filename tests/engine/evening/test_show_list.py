"""The show list: its rule at each boundary, and what must always hold.

Six clean turns on two days, the first ones among them, 28 days: common practice, no source.
"""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.evening.show_list import (
    Breaks,
    Phrase,
    is_less,
    last_pause,
    phrase_record,
    why_void,
)
from readiness.engine.replay.events import Event
from readiness.engine.tallies import Turn
from tests.support.engine.records import LADDER, day, shuffled

DRILL, FLOOR = "walkover-in-dance", "bare-stage"


def at(number: int, minute: int) -> datetime.datetime:
    noon = datetime.datetime.combine(day(number), datetime.time(12), datetime.UTC)
    return noon + datetime.timedelta(minutes=minute)


def turn(number: int, minute: int = 0, clean: bool = True, **other) -> Turn:
    """On day ``number``, so many minutes after the end of its run-through."""
    about = {"drill": DRILL, "surface": FLOOR, "support": 1, "graded": True} | other
    name = f"{number} {minute} {clean} {sorted(other.items())}"
    return Turn(id=name, author=1, day=day(number), at=at(number, minute), clean=clean, **about)


def turns(number: int, outcomes: str, **other) -> list[Turn]:
    return [turn(number, minute, each == "1", **other) for minute, each in enumerate(outcomes)]


# A run-through on every day.
EVERY_DAY = Phrase(DRILL, FLOOR, {day(number): at(number, 0) for number in range(-40, 80)})
NONE = Breaks()
TWO_DAYS = [*turns(0, "111"), *turns(7, "111")]


def record(done: list[Turn], on: int = 7, breaks: Breaks = NONE, phrase: Phrase = EVERY_DAY):
    return phrase_record(done, phrase, day(on), breaks)


@pytest.mark.parametrize(
    ("first", "second", "met"),
    [
        ("111", "111", True),
        ("11", "1111", True),
        ("11111", "1", True),
        ("111", "11", False),
        ("111111", "", False),
        ("", "1111111111", False),
        # Not clean, and not the first: it does not count, and takes nothing.
        ("1101", "111", True),
        ("110", "1101", False),
        # The first of either day.
        ("0111111", "111", False),
        ("111", "0111111", False),
    ],
)
def test_six_clean_turns_on_two_days_with_the_first_of_each(first, second, met):
    assert record([*turns(0, first), *turns(7, second)]).met is met


def test_what_came_before_a_day_that_began_badly_does_not_count():
    done = [*turns(0, "111"), *turns(2, "0111"), *turns(4, "111"), *turns(7, "11")]
    assert record(done).clean == 5
    assert record(done).days == (day(7), day(4))
    assert record(done).missed_on == day(2)
    assert record([*done, turn(7, 5)]).met


@pytest.mark.parametrize(
    "other",
    [
        {"surface": "sprung-dance-floor"},
        {"surface": "hard-floor"},
        {"drill": "back-walkover"},
        {"support": 2},
        {"support": 3},
        {"graded": False},
    ],
    ids=str,
)
def test_a_turn_elsewhere_in_hands_or_seen_by_nobody_who_grades_does_not_count(other):
    assert not record([*turns(0, "111", **other), *turns(7, "111")]).met


def test_a_first_turn_in_hands_is_a_first_turn_that_does_not_count():
    assert not record([turn(7, 0, support=2), *turns(0, "111"), *turns(7, "0111111")[1:]]).met


def test_only_turns_at_the_end_of_a_run_through_count():
    one_day = Phrase(DRILL, FLOOR, {day(0): at(0, 0)})
    assert not record(TWO_DAYS, phrase=one_day).met
    late = Phrase(DRILL, FLOOR, {day(0): at(0, 0), day(7): at(7, 1)})
    assert record(TWO_DAYS, phrase=late).clean == 5
    # Before it nothing is asked of them either.
    before = [turn(7, -5, clean=False), turn(7, -4)]
    assert record([*before, *TWO_DAYS]).clean == 6


@pytest.mark.parametrize(("on", "met"), [(28, True), (29, False)])
def test_turns_count_for_28_days(on, met):
    assert record(TWO_DAYS, on).met is met


def test_turns_of_later_days_do_not_count_yet():
    assert not record(TWO_DAYS, 6).met


@pytest.mark.parametrize("breaks", [Breaks(stop_sign=day(0)), Breaks(pause=day(0))])
def test_turns_up_to_the_day_of_a_stop_sign_or_a_pause_do_not_count(breaks):
    assert record(TWO_DAYS, breaks=breaks).clean == 3
    assert record([*TWO_DAYS, *turns(8, "111")], 8, breaks).met


# Signed on day 10, the show on day 40.
@pytest.mark.parametrize(
    ("on", "breaks", "code"),
    [
        (10, NONE, None),
        (38, NONE, None),
        (39, NONE, "days"),
        (41, NONE, "show"),
        (20, Breaks(stop_sign=day(9)), None),
        (20, Breaks(stop_sign=day(10)), "stop-sign"),
        (20, Breaks(stop_sign=day(15)), "stop-sign"),
        (20, Breaks(pause=day(9)), None),
        (20, Breaks(pause=day(10)), "pause"),
    ],
)
def test_a_yes_is_void_after_a_stop_sign_a_pause_28_days_or_the_show(on, breaks, code):
    assert why_void(day(10), day(40), day(on), breaks) == code


def test_on_the_day_of_the_show_it_holds_and_on_the_next_it_does_not():
    assert why_void(day(30), day(40), day(40), NONE) is None
    assert why_void(day(30), day(40), day(41), NONE) == "show"


def event(kind: str, number: int, place: str = "") -> Event:
    return Event(kind, day(number), at(number, 0), f"{kind} {number}", place=place)


@pytest.mark.parametrize(
    ("events", "paused"),
    [
        ([], None),
        ([event("lift", 3), event("growing", 4), event("pain", 5, "wrist")], None),
        ([event("pause", 3), event("lift", 9)], 3),
        ([event("pause", 9), event("pause", 3)], 9),
        ([event("head-knock", 3)], 3),
        ([event("pain", 3, "neck")], 3),
        # The same place again within 21 days pauses (common practice, no source).
        ([event("pain", 3, "wrist"), event("pain", 24, "wrist")], 24),
        ([event("pain", 3, "wrist"), event("pain", 25, "wrist")], None),
    ],
)
def test_whatever_pauses_a_child_is_a_pause(events, paused):
    assert last_pause(events, LADDER) == (None if paused is None else day(paused))


def test_from_alone_to_somebody_beside_to_the_easy_version():
    assert is_less("easy", "beside")
    assert is_less("beside", "yes")
    assert not is_less("yes", "yes")
    assert not is_less("beside", "easy")


# --- what must always hold -----------------------------------------------------------

DONE = st.lists(
    st.builds(
        turn,
        st.integers(-30, 30),
        st.integers(-3, 12),
        st.booleans(),
        support=st.integers(0, 3),
        graded=st.booleans(),
    ),
    max_size=40,
    unique_by=lambda each: (each.day, each.at),
)
ON = st.integers(-30, 60)
BREAKS = st.builds(
    Breaks,
    *[st.none() | st.integers(-30, 30).map(day)] * 2,
)


@given(DONE, ON, BREAKS, st.randoms(use_true_random=False))
def test_the_order_of_arrival_is_nothing(done, on, breaks, random):
    assert record(shuffled(done, random), on, breaks) == record(done, on, breaks)


@given(DONE, ON, BREAKS, st.integers(-30, 30))
def test_one_more_clean_turn_at_the_end_of_a_day_never_takes_a_yes(done, on, breaks, number):
    if record(done, on, breaks).met:
        assert record([*done, turn(number, 30)], on, breaks).met


@given(DONE, ON, BREAKS, st.integers(-30, 30), st.integers(0, 30))
def test_a_turn_that_does_not_count_never_gives_a_yes(done, on, breaks, number, minute):
    if not record(done, on, breaks).met:
        assert not record([*done, turn(number, minute, clean=False)], on, breaks).met


@given(DONE, ON, BREAKS, BREAKS)
def test_a_stop_sign_or_a_pause_never_gives_a_yes(done, on, breaks, more):
    both = Breaks(
        max(filter(None, [breaks.stop_sign, more.stop_sign]), default=None),
        max(filter(None, [breaks.pause, more.pause]), default=None),
    )
    assert record(done, on, both).clean <= record(done, on, breaks).clean


@given(DONE, ON)
def test_waiting_never_gives_a_yes(done, on):
    if not record(done, max(on, 30)).met:
        assert not record(done, max(on, 30) + 1).met


@given(DONE, ON, BREAKS)
def test_a_yes_stands_on_six_clean_turns_on_two_days_each_begun_clean(done, on, breaks):
    found = record(done, on, breaks)
    if found.met:
        own = [t for t in done if t.day in found.days and EVERY_DAY.has(t)]
        firsts = {t.day: t for t in sorted(own, key=lambda t: t.at, reverse=True)}
        assert len(firsts) >= 2
        assert all(t.clean and t.graded and t.support <= 1 for t in firsts.values())
        assert sum(bool(t.clean and t.graded and t.support <= 1) for t in own) >= 6
        assert all(breaks.last < t.day and 0 <= (day(on) - t.day).days <= 28 for t in own)


@given(ON, st.integers(-30, 30), st.integers(-30, 60), BREAKS)
def test_what_is_void_stays_void(on, signed, show, breaks):
    if why_void(day(signed), day(show), day(on), breaks):
        assert why_void(day(signed), day(show), day(on + 1), breaks)
