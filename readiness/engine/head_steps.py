"""The way back after a head knock: six steps, each given by a director on the family's word.

At least 24 hours a step, and one step back on a symptom: Patricios et al., Consensus statement on
concussion in sport, Amsterdam, October 2022, Br J Sports Med 2023;57:695-711. Nothing with a risk
to the head before 14 days without symptoms, and full return not before day 21, the day of the
injury being day 0: UK Concussion Guidelines for Grassroots Sport, 2023, updated November 2024
(sportandrecreation.org.uk); the same days in Australia's guidelines of 2024 for those of 19 and
under. That the first day after 14 clear days is day 15 is from memory. What each step lets a child
do at tumbling, and one step a day at most: common practice, no source.

Whatever this allows, a doctor and the rules of the place go before it.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from readiness.engine.replay.events import Event

# In the order in which they count on one day: what asks for more caution first, so that a step
# given on the day of a symptom counts for nothing.
HEAD_KINDS = ("head-knock", "head-symptom", "head-clearance", "head-step")
LAST_STEP = 6
# The first step with a risk to the head. The statement's names of steps 4 to 6 are from memory.
HEAD_RISK = 4
CLEAR_DAYS = 14
FULL_RETURN_DAY = 21
ONE_DAY = datetime.timedelta(days=1)

WaitCode = Literal["24-hours", "symptom", "clear-days", "clearance", "full-return", "word"]


@dataclass(frozen=True)
class HeadRule:
    """A studio's own days, which may only be more: ValueError for fewer."""

    clear_days: int = CLEAR_DAYS
    full_return_day: int = FULL_RETURN_DAY

    def __post_init__(self) -> None:
        if self.clear_days < CLEAR_DAYS or self.full_return_day < FULL_RETURN_DAY:
            raise ValueError(f"at least {CLEAR_DAYS} and {FULL_RETURN_DAY} days: {self}")


@dataclass(frozen=True)
class HeadWay:
    """How far a child has come since the newest knock.

    last_symptom: the newest day that was not clear, the day of the knock at least. cleared_on: the
    newest clearance. step: the highest that may be done, 0 to 6; given_on, given_at: the newest
    step given.
    """

    knocked_on: datetime.date
    last_symptom: datetime.date
    cleared_on: datetime.date | None = None
    step: int = 0
    given_on: datetime.date | None = None
    given_at: datetime.datetime | None = None

    @property
    def is_over(self) -> bool:
        return self.step == LAST_STEP

    @property
    def is_cleared(self) -> bool:
        """By a clearance of a later day than the newest symptom."""
        return self.cleared_on is not None and self.cleared_on > self.last_symptom


@dataclass(frozen=True)
class Wait:
    """Why a step is not given yet; ``until``: the first day on which this no longer stands in the
    way, None where no day ends it."""

    code: WaitCode
    until: datetime.date | None = None


@dataclass(frozen=True)
class NextStep:
    """The step after the one that is allowed. earliest: the first day on which it may be given,
    with the clearance there if it needs one."""

    step: int
    waits: tuple[Wait, ...]
    earliest: datetime.date


def head_way(events: Iterable[Event], until: datetime.date, rule: HeadRule) -> HeadWay | None:
    """The way at the start of a day; None with no knock before it."""
    way: HeadWay | None = None
    for event in in_head_order(event for event in events if event.day < until):
        way = after_event(way, event, rule)
    return way


def in_head_order(events: Iterable[Event]) -> list[Event]:
    """Those that are of a head knock, by the day they were told and what they ask."""
    told = [event for event in events if event.kind in HEAD_KINDS]
    return sorted(told, key=lambda e: (e.day, HEAD_KINDS.index(e.kind), e.of_day, e.at, e.id))


def after_event(way: HeadWay | None, event: Event, rule: HeadRule) -> HeadWay | None:
    """The way after what was told: a step that was not to be given then counts for nothing."""
    if event.kind == "head-knock":
        return _knocked(way, event.of_day)
    if way is None:
        return None
    if event.kind == "head-symptom":
        return _with_symptom(way, event.of_day)
    if event.kind == "head-clearance":
        return replace(way, cleared_on=max(way.cleared_on or event.of_day, event.of_day))
    if event.step != way.step + 1 or refusals(way, event, rule):
        return way
    return replace(way, step=event.step, given_on=event.day, given_at=event.at)


def _knocked(way: HeadWay | None, on: datetime.date) -> HeadWay:
    """From the start again, but for a knock that is told a second time."""
    if way is None:
        return HeadWay(on, on)
    if on == way.knocked_on:
        return way
    return replace(
        way,
        knocked_on=max(way.knocked_on, on),
        last_symptom=max(way.last_symptom, on),
        step=0,
    )


def _with_symptom(way: HeadWay, on: datetime.date) -> HeadWay:
    """One step back, and to the last step without a risk to the head at most; the days are counted
    anew. A symptom of a day that was not clear anyway is no news."""
    if on == way.last_symptom:
        return way
    back = max(0, min(way.step - 1, HEAD_RISK - 1))
    return replace(way, step=back, last_symptom=max(way.last_symptom, on))


def next_step(way: HeadWay, rule: HeadRule, day: datetime.date) -> NextStep | None:
    """None once the last step is given."""
    if way.is_over:
        return None
    waits = tuple(wait for wait in _waits(way, rule) if wait.until is None or day < wait.until)
    return NextStep(way.step + 1, waits, max([day, *(w.until for w in waits if w.until)]))


def refusals(way: HeadWay, event: Event, rule: HeadRule) -> tuple[Wait, ...]:
    """Why the next step may not be given on the event's day, at its time, on a word of the family
    of the day it is of; empty: it may."""
    following = next_step(way, rule, event.day)
    waits = list(following.waits) if following else []
    if way.given_at and event.at < way.given_at + ONE_DAY and "24-hours" not in _codes(waits):
        # Later on that day.
        waits.append(Wait("24-hours", event.day))
    if not _word_counts(way, event):
        waits.append(Wait("word"))
    return tuple(waits)


def _word_counts(way: HeadWay, event: Event) -> bool:
    """The family's "no symptoms" is of a day since the newest symptom and the newest step."""
    since = max(way.last_symptom + ONE_DAY, way.given_on or datetime.date.min)
    return since <= event.of_day <= event.day


def _waits(way: HeadWay, rule: HeadRule) -> Iterable[Wait]:
    """All that the next step asks for."""
    step = way.step + 1
    yield Wait("symptom", way.last_symptom + ONE_DAY)
    if way.given_on is not None:
        yield Wait("24-hours", way.given_on + ONE_DAY)
    if step >= HEAD_RISK:
        clear = datetime.timedelta(days=rule.clear_days)
        yield Wait("clear-days", way.last_symptom + clear + ONE_DAY)
        if not way.is_cleared:
            yield Wait("clearance")
    if step == LAST_STEP:
        yield Wait("full-return", way.knocked_on + datetime.timedelta(days=rule.full_return_day))


def _codes(waits: Iterable[Wait]) -> set[str]:
    return {wait.code for wait in waits}
