"""The way back after a head knock: check values with their sources, and what must always hold.

[A] Patricios et al., Consensus statement on concussion in sport, Amsterdam, October 2022,
    Br J Sports Med 2023;57:695-711: at least 24 hours a step, one step back on a symptom, clearance
    before any risk to the head. Its own table was not seen; its names of steps 4 to 6 are from
    memory.
[B] UK Concussion Guidelines for Grassroots Sport, 2023, updated November 2024: never back within 24
    hours, no training with a risk to the head before 14 days without symptoms at rest, no
    competition before day 21, the day of the injury being day 0. That the first day after 14 clear
    days is day 15 is from memory.
[C] Australia's guidelines of 2024 for those of 19 and under: the same 14 and 21.
One step a day at most, and a symptom at step 5 or 6 back to step 3: common practice, no source.
"""

import datetime
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.head_steps import (
    HeadRule,
    HeadWay,
    after_event,
    head_way,
    next_step,
    refusals,
)
from readiness.engine.replay.events import Event
from tests.support.engine.records import day, shuffled

RULE = HeadRule()


def told(kind: str, number: int, on: int | None = None, hour: int = 12, step: int = 0) -> Event:
    """Told on day ``number``, of day ``on``."""
    at = datetime.datetime.combine(day(number), datetime.time(hour), datetime.UTC)
    about = {"step": step, "on": None if on is None else day(on)}
    return Event(f"head-{kind}", day(number), at, f"{kind} {number} {hour} {on} {step}", **about)


def step(number: int, to: int, on: int | None = None, hour: int = 12) -> Event:
    """Given on day ``number``, on a word of the family of day ``on``."""
    return told("step", number, number if on is None else on, hour, to)


def way_at(events: list[Event], number: int, rule: HeadRule = RULE) -> HeadWay:
    way = head_way(events, day(number), rule)
    assert way is not None
    return way


def codes(events: list[Event], number: int, rule: HeadRule = RULE) -> list[str]:
    following = next_step(way_at(events, number, rule), rule, day(number))
    return [wait.code for wait in following.waits]


def earliest(events: list[Event], number: int, rule: HeadRule = RULE) -> datetime.date:
    return next_step(way_at(events, number, rule), rule, day(number)).earliest


KNOCK = [told("knock", 0)]
TO_3 = [*KNOCK, step(1, 1), step(2, 2), step(3, 3)]
CLEARED = [*TO_3, told("clearance", 10)]
TO_4 = [*CLEARED, step(15, 4)]
TO_5 = [*TO_4, step(16, 5)]
ALL = [*TO_5, step(21, 6)]


def test_without_a_knock_there_is_no_way_back():
    assert head_way([told("symptom", 1), step(2, 1)], day(9), RULE) is None


def test_nothing_on_the_day_of_the_knock_and_the_first_step_on_the_next():
    # [B]: never back within 24 hours.
    way = after_event(None, KNOCK[0], RULE)
    assert next_step(way, RULE, day(0)).waits[0].code == "symptom"
    assert next_step(way, RULE, day(0)).earliest == day(1)
    assert codes(KNOCK, 1) == []


def test_a_step_is_at_least_24_hours():
    # [A]
    events = [*KNOCK, step(1, 1, hour=18)]
    assert codes(events[:1], 1) == []
    way = after_event(way_at(KNOCK, 1), events[1], RULE)
    assert [wait.code for wait in refusals(way, step(1, 2, hour=20), RULE)] == ["24-hours"]
    assert [wait.code for wait in refusals(way, step(2, 2, hour=17), RULE)] == ["24-hours"]
    assert refusals(way, step(2, 2, hour=18), RULE) == ()
    assert way_at([*events, step(2, 2, hour=17)], 3).step == 1
    assert way_at([*events, step(2, 2, hour=18)], 3).step == 2


def test_on_the_day_on_which_a_step_is_given_the_next_one_is_tomorrows():
    # Common practice, no source.
    way = after_event(way_at(KNOCK, 1), step(1, 1), RULE)
    following = next_step(way, RULE, day(1))
    assert [wait.code for wait in following.waits] == ["24-hours"]
    assert following.earliest == day(2)


def test_no_step_is_left_out():
    assert way_at([*KNOCK, step(1, 2)], 5).step == 0
    assert way_at([*KNOCK, step(1, 1), step(2, 3)], 5).step == 1


@pytest.mark.parametrize(("number", "waits"), [(14, ["clear-days"]), (15, [])])
def test_nothing_with_a_risk_to_the_head_before_14_days_without_symptoms(number, waits):
    # [B], [C]
    assert codes(CLEARED, number) == waits
    assert earliest(CLEARED, 11) == day(15)
    assert way_at([*CLEARED, step(number, 4)], 30).step == (3 if waits else 4)


def test_nor_without_clearance():
    # [A]: clearance before any risk to the head.
    assert codes(TO_3, 40) == ["clearance"]
    assert way_at([*TO_3, step(40, 4)], 50).step == 3


@pytest.mark.parametrize(("number", "waits"), [(20, ["full-return"]), (21, [])])
def test_full_return_on_day_20_is_refused_and_on_day_21_given(number, waits):
    # [B], [C]
    assert codes(TO_5, number) == waits
    assert earliest(TO_5, 17) == day(21)
    assert way_at([*TO_5, step(number, 6)], 30).step == (5 if waits else 6)


def test_on_day_21_full_return_still_asks_for_14_clear_days():
    # [B]
    events = [*CLEARED, told("symptom", 12)]
    events += [step(13, 3), told("clearance", 14), step(21, 4), step(22, 5), step(23, 6)]
    assert way_at(events, 24).step == 3
    assert codes(events, 24) == ["clear-days"]
    assert earliest(events, 24) == day(27)


@pytest.mark.parametrize(
    ("events", "back"), [(KNOCK, 0), (TO_3, 2), (TO_4, 3), (TO_5, 3), (ALL, 3)]
)
def test_a_symptom_is_one_step_back_and_to_step_3_at_most(events, back):
    # [A]; that it is 3 after steps 5 and 6: common practice, no source.
    assert way_at([*events, told("symptom", 25)], 26).step == back


def test_a_symptom_starts_the_14_days_anew_and_an_earlier_clearance_counts_no_longer():
    # [B]
    events = [*CLEARED, told("symptom", 12)]
    assert codes([*events, step(13, 3)], 26) == ["clear-days", "clearance"]
    assert codes([*events, step(13, 3)], 27) == ["clearance"]
    # Of the very day of the symptom: nobody knows which came first.
    assert codes([*events, step(13, 3), told("clearance", 12)], 27) == ["clearance"]
    assert codes([*events, step(13, 3), told("clearance", 13)], 27) == []


def test_after_it_no_step_comes_back_by_time_alone():
    assert way_at([*ALL, told("symptom", 25)], 400).step == 3


def test_a_step_given_on_the_day_of_a_symptom_counts_for_nothing():
    for symptom_hour in (9, 15):
        events = [*KNOCK, step(1, 1), step(2, 2), told("symptom", 2, hour=symptom_hour)]
        assert way_at(events, 3).step == 0


def test_a_symptom_told_late_takes_the_newest_step_back_and_counts_from_its_own_day():
    events = [*TO_4, told("symptom", 17, on=9)]
    assert way_at(events, 18).step == 3
    assert earliest(events, 18) == day(24)
    assert way_at([*events, told("symptom", 18, on=9)], 19).step == 3, "told twice"


@pytest.mark.parametrize(("on", "counts"), [(11, False), (12, True), (14, True), (15, False)])
def test_the_word_of_the_family_is_of_a_day_since_the_newest_step_and_symptom(on, counts):
    events = [*KNOCK, step(10, 1), told("symptom", 11)]
    assert way_at([*events, step(14, 1, on=on)], 15).step == int(counts)
    since_step = [*KNOCK, step(12, 1)]
    assert way_at([*since_step, step(14, 2, on=on)], 15).step == (2 if counts else 1)


def test_another_knock_begins_the_way_again_and_the_same_one_told_twice_does_not():
    again = [*ALL, told("knock", 60), step(61, 1)]
    assert way_at(again, 62).step == 1
    assert earliest([*ALL, told("knock", 60)], 61) == day(61)
    assert way_at([*TO_5, told("knock", 17, on=0)], 18).step == 5
    # One that is told late, of a day before the first: its steps begin again all the same.
    assert way_at([*TO_5, told("knock", 17, on=-5)], 18).step == 0


@pytest.mark.parametrize("days", [(13, 21), (14, 20)])
def test_a_studio_may_ask_for_more_days_and_not_for_fewer(days):
    with pytest.raises(ValueError, match="at least"):
        HeadRule(*days)
    stricter = HeadRule(21, 28)
    assert codes(CLEARED, 21, stricter) == ["clear-days"]
    assert codes(CLEARED, 22, stricter) == []
    assert codes([*TO_3, told("clearance", 10), step(22, 4), step(23, 5)], 27, stricter) == [
        "full-return"
    ]


# --- what must always hold -----------------------------------------------------------

DAYS = st.integers(0, 45)
HOURS = st.integers(0, 23)
FACTS = st.lists(
    st.one_of(
        st.builds(told, st.sampled_from(["knock", "symptom"]), DAYS, hour=HOURS),
        st.builds(told, st.just("clearance"), DAYS, hour=HOURS),
        st.builds(
            lambda number, to, before, hour: step(number, to, number - before, hour),
            DAYS,
            st.integers(1, 6),
            st.integers(0, 3),
            HOURS,
        ),
    ),
    max_size=30,
)


@st.composite
def records(draw):
    """A knock, the steps that a hurried director gives whenever they are to be given, or sooner,
    and whatever else was told."""
    events = [told("knock", 0), *draw(FACTS)]
    gaps = draw(st.lists(st.sampled_from([0, 1, 1, 2, 5, 12]), max_size=9))
    number, to = 0, 1
    for gap in gaps:
        number += gap
        events.append(step(number, to, hour=draw(HOURS)))
        to = to % 6 + 1
    return events + draw(st.lists(st.builds(step, DAYS, st.integers(1, 6)), max_size=12))


def steps_by_day(events: list[Event], rule: HeadRule = RULE) -> list[int]:
    return [way_at(events, number, rule).step for number in range(1, 60)]


@given(records())
def test_by_whatever_was_told_the_days_and_the_clearance_are_kept(events):
    for number in range(1, 60):
        before = [event for event in events if event.day < day(number)]
        knocked = max(e.of_day for e in before if e.kind == "head-knock")
        symptoms = [e.of_day for e in before if e.kind == "head-symptom"]
        cleared = [e.of_day for e in before if e.kind == "head-clearance"]
        last = max([knocked, *symptoms])
        allowed = way_at(events, number).step
        # The step was given on the day before at the latest.
        if allowed >= 4:
            assert (day(number - 1) - last).days >= 15
            assert max(cleared) > last
        if allowed == 6:
            assert (day(number - 1) - knocked).days >= 21


@given(records())
def test_a_step_rises_by_one_at_most_and_what_gave_it_is_24_hours_after_the_one_before(events):
    all_steps = steps_by_day(events)
    given_at = [way_at(events, number).given_at for number in range(1, 60)]
    for number in range(1, len(all_steps)):
        assert all_steps[number] <= all_steps[number - 1] + 1
        if all_steps[number] > all_steps[number - 1] and given_at[number - 1]:
            assert given_at[number] - given_at[number - 1] >= datetime.timedelta(hours=24)


@given(records(), st.sampled_from(["symptom", "knock"]), DAYS, st.integers(0, 20))
def test_a_symptom_or_a_knock_more_never_allows_a_higher_step(events, kind, number, late):
    worse = [*events, told(kind, number, on=number - late)]
    pairs = zip(steps_by_day(worse), steps_by_day(events), strict=True)
    assert all(less <= more for less, more in pairs)


@given(records(), st.integers(14, 30), st.integers(21, 40))
def test_a_stricter_studio_never_allows_a_higher_step(events, clear, full):
    pairs = zip(steps_by_day(events, HeadRule(clear, full)), steps_by_day(events), strict=True)
    assert all(less <= more for less, more in pairs)


@given(records(), st.randoms())
def test_the_order_in_which_it_was_stored_is_nothing(events, rng: random.Random):
    assert steps_by_day(shuffled(events, rng)) == steps_by_day(events)


@given(records())
def test_on_the_day_that_is_named_as_the_earliest_the_step_may_be_given_and_not_before(events):
    for number in range(1, 60):
        way = way_at(events, number)
        following = next_step(way, RULE, day(number))
        if following is None:
            continue
        assert following.earliest >= day(number)
        cleared = following.step < 4 or way.is_cleared
        last = (following.earliest - day(0)).days
        for tried in {number, last - 1, last}:
            if tried < number:
                continue
            refused = refusals(way, step(tried, following.step, hour=23), RULE)
            assert (refused == ()) == (cleared and tried == last)
