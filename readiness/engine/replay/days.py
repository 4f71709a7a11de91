"""The replay of local days: the state at the start of each day, from the record before it.

Shared: used by the record, the demo and the trial of a gate's values. The readings at a day's
end and the day's events give the state at the next day's start. The same tallies and the same
events give the same states in whatever order they arrived.
"""

import datetime
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise

from readiness.engine.carry_over import doubted_skills
from readiness.engine.evidence import Evidence
from readiness.engine.gates import ClearGate
from readiness.engine.growing import apply_growing, end_of, graded_anew
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.replay.consents import ABOUT_HANDS, apply_consent
from readiness.engine.replay.decisions import apply_decision, apply_head, apply_pause_or_pain
from readiness.engine.replay.events import Event, in_order
from readiness.engine.replay.openings import open_by_evidence, open_drill, open_stage
from readiness.engine.replay.re_check import check_absence, check_lately, check_stop_signs
from readiness.engine.replay.state import ONE_DAY, ChildState, Doubt, Opening
from readiness.engine.replay.way_back import grant_steps, taps_at, walk_back

LadderOn = Callable[[datetime.date], Ladder]


def replay(
    evidence: Evidence,
    events: Iterable[Event],
    until: datetime.date,
    ladder_on: LadderOn,
    start: ChildState | None = None,
) -> ChildState:
    """The state at the start of ``until``. ``ladder_on`` gives the ladder in force on a day.

    From nothing, or from ``start``, which is used up: the state at the start of an earlier day.
    """
    *_, state = replay_days(evidence, events, until, ladder_on, start)
    return state


def replay_days(
    evidence: Evidence,
    events: Iterable[Event],
    until: datetime.date,
    ladder_on: LadderOn,
    start: ChildState | None = None,
) -> Iterator[ChildState]:
    """The state at the start of each day before ``until`` that can change it, then of ``until``.

    It is one object that moves on: whoever keeps it sees it change.
    """
    ordered = in_order(list(events))
    by_day: dict[datetime.date, list[Event]] = {}
    for event in ordered:
        by_day.setdefault(event.day, []).append(event)
    ends = {end_of(event, ladder_on(day)) for day, told in by_day.items() for event in told}
    event_days = {day for day in {*by_day, *ends} if day is not None}
    days = _days_that_count(evidence, event_days, until, ladder_on)
    if start is None:
        first = _first_day(evidence, ordered, until)
        state = beginning(first, ladder_on)
        for event in ordered:
            if event.day < first:
                apply_consent(state, event, ladder_on(first))
    else:
        first, state = start.day, start
    for day in (day for day in days if day >= first):
        start_day(state, evidence, day, ladder_on(day))
        yield state
        end_day(state, evidence, by_day.get(day, []), ladder_on(day))
    start_day(state, evidence, until, ladder_on(until))
    yield state


def _first_day(evidence: Evidence, events: list[Event], until: datetime.date) -> datetime.date:
    """The first day on record. What is said of hands may come long before it."""
    told = {event.day for event in events if event.kind not in ABOUT_HANDS}
    return min((day for day in evidence.all_days() | told if day < until), default=until)


def _days_that_count(
    evidence: Evidence, event_days: set[datetime.date], until: datetime.date, ladder_on: LadderOn
) -> list[datetime.date]:
    """The days on record before ``until``, and those on which time alone opens a stage: when
    another ladder comes into force, and when enough days have passed since a stop sign."""
    recorded = sorted(day for day in evidence.all_days() | event_days if day < until)
    if not recorded:
        return []
    changes = _ladder_changes([*recorded, until], ladder_on)
    ladders = [ladder_on(day) for day in [recorded[0], *changes]]
    clear = {
        (gate.drill, gate.days)
        for ladder in ladders
        for stage in ladder.stages
        if not stage.sign_off
        for gate in stage.gates
        if isinstance(gate, ClearGate)
    }
    waited = {
        day + datetime.timedelta(days=wait)
        for drill, wait in clear
        for day in evidence.days(drill, until)
        if evidence.stop_signs(drill, day)
    }
    return sorted(day for day in {*recorded, *changes, *waited} if day < until)


def _ladder_changes(days: list[datetime.date], ladder_on: LadderOn) -> list[datetime.date]:
    """The days, between the first and the last of these, from which another ladder is in force."""
    changes = []
    for day, end in pairwise(days):
        while day < end and ladder_on(day) is not ladder_on(end):
            before, after = day, end
            while after - before > ONE_DAY:
                middle = before + (after - before) // 2
                if ladder_on(middle) is ladder_on(day):
                    before = middle
                else:
                    after = middle
            changes.append(after)
            day = after
    return changes


def beginning(day: datetime.date, ladder_on: LadderOn) -> ChildState:
    """Before any record: the stages that ask for nothing are open."""
    state = ChildState(day - ONE_DAY)
    ladder = ladder_on(day)
    for stage in ladder.stages:
        if not stage.needs and not stage.gates and not stage.sign_off:
            open_stage(state, stage, Opening(day, "start"), ladder)
    for drill in ladder.drills.values():
        open_drill(state, drill, Evidence(), ladder)
    return state


def start_day(state: ChildState, evidence: Evidence, day: datetime.date, ladder: Ladder) -> None:
    """Move the state to the start of ``day``: what time alone asks for."""
    state.day = day
    for key, drill_state in state.drills.items():
        drill = ladder.drills.get(key)
        if drill and drill.taught_by_hand:
            check_absence(state, drill_state, drill, evidence, ladder)


def end_day(state: ChildState, evidence: Evidence, events: list[Event], ladder: Ladder) -> None:
    """Close ``state.day``: what it leaves counts from the next day on."""
    _count_clean(state, evidence, ladder)
    _carry_doubt(state, evidence, ladder)
    for drill in ladder.drills.values():
        if drill.key in state.drills:
            _close_drill_day(state, drill, evidence, events, ladder)
    for event in events:
        apply_growing(state, event, ladder)
    evidence = graded_anew(evidence, state, ladder)
    apply_head(state, events, ladder)
    for event in events:
        apply_pause_or_pain(state, event, ladder)
        apply_consent(state, event, ladder)
        apply_decision(state, event, evidence, ladder)
    for stage in ladder.stages:
        if not stage.sign_off and stage.code not in state.opened:
            open_by_evidence(state, stage, evidence, ladder)
    for drill in ladder.drills.values():
        open_drill(state, drill, evidence, ladder)
        if drill.key in state.drills:
            grant_steps(state, drill, evidence, events, ladder)


def _count_clean(state: ChildState, evidence: Evidence, ladder: Ladder) -> None:
    for key, drill in ladder.drills.items():
        for tally in evidence.on(key, state.day):
            if drill.support_logged and tally.clean:
                on = state.clean_on.setdefault(key, {})
                on[tally.surface] = on.get(tally.surface, 0) + tally.clean


def _carry_doubt(state: ChildState, evidence: Evidence, ladder: Ladder) -> None:
    """Doubt is remembered until the next day with turns is over."""
    skills = doubted_skills(evidence.faults_on(state.day), ladder)
    if skills:
        state.doubt = Doubt(state.day, skills)
    elif any(evidence.on(drill, state.day) for drill in evidence.drills()):
        state.doubt = None


def _close_drill_day(
    state: ChildState, drill: Drill, evidence: Evidence, events: list[Event], ladder: Ladder
) -> None:
    drill_state = state.drills[drill.key]
    if drill_state.open_since is None or not drill.allow:
        return
    check_stop_signs(state, drill_state, drill, evidence, ladder)
    check_lately(state, drill_state, drill, evidence, ladder)
    # After a fall of this very day nothing counts yet, and the way back stays where it is.
    walk_back(state, drill_state, drill, evidence, taps_at(events, drill), ladder)
