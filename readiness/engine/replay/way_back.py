"""The way back after a fall, and the steps of support that are given for the first time."""

import datetime
from dataclasses import replace

from readiness.engine.clean_rate import DayTurns, lately, read_clean
from readiness.engine.evidence import Evidence, Scope, counts
from readiness.engine.ladder import Allowance, Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import ONE_DAY, ChildState, DrillState, WayBack
from readiness.engine.support import base, granted, watches
from readiness.engine.tallies import Tally


def walk_back(
    state: ChildState,
    drill_state: DrillState,
    drill: Drill,
    evidence: Evidence,
    taps: list[Event],
    ladder: Ladder,
) -> None:
    """One step less a class day; the last step to signed unspotted work is a person's tap."""
    back = drill_state.way_back
    least = base(drill, state, ladder, None)
    if back is None or least is None:
        return
    class_day = way_back_ready_on(state, drill, evidence, ladder, state.day)
    if class_day is None:
        return
    target = Support(back.level - 1) if back.level else Support.UNSPOTTED
    if target > least:
        if class_day == state.day:
            drill_state.way_back = replace(back, level=target, after=state.day)
        return
    if last_step_is_tapped(state, drill, ladder):
        if not any(tap.support == least and (tap.director or not back.director) for tap in taps):
            return
    elif class_day != state.day:
        return
    drill_state.way_back = None


def last_step_is_tapped(state: ChildState, drill: Drill, ladder: Ladder) -> bool:
    """True if one step less than now is unspotted work that was signed for."""
    back = state.way_back(drill.key)
    if back is None or back.level > Support.STANDING_BY:
        return False
    return any(step.signed_surface for step in granted(drill, state))


def way_back_ready_on(
    state: ChildState,
    drill: Drill,
    evidence: Evidence,
    ladder: Ladder,
    day: datetime.date,
) -> datetime.date | None:
    """The latest class day, if on it the next step of the way back was earned; else None.

    On days since the level was last set, at that support or less: enough clean turns, the
    first of the latest day among them, lately over them high enough, and no stop sign.
    """
    back = state.way_back(drill.key)
    if back is None:
        return None
    rule = ladder.way_back
    since = way_back_days(state, drill, back, evidence, ladder, day)
    if not since or sum(clean for _, _, clean in since) < rule.clean:
        return None
    latest = evidence.days(drill.key, day)[-1]
    first = evidence.first_turn(drill.key, latest)
    scope = _way_back_scope(state, drill, back)
    if first is None or not _is_clean(first, drill) or not counts(first, ladder, scope):
        return None
    if any(evidence.stop_signs(drill.key, d) for d, _, _ in since):
        return None
    steady = lately(
        since,
        latest,
        _own_rate(state, drill, ladder),
        ladder.lately_days,
        ladder.memory_time,
        ladder.day_correlation,
    )
    return latest if round(steady, 6) >= rule.lately else None


def way_back_days(
    state: ChildState,
    drill: Drill,
    back: WayBack,
    evidence: Evidence,
    ladder: Ladder,
    day: datetime.date,
) -> list[DayTurns]:
    """(day, turns, clean) that count for the next step of the way back, up to ``day``.

    A hold, reps or a grade are not clean or not clean: every such turn counts as clean, since
    a stop sign starts the way back again.
    """
    days = evidence.clean_days(drill.key, ladder, day, _way_back_scope(state, drill, back))
    since = [entry for entry in days if entry[0] > back.after]
    return since if drill.measure == "clean" else [(d, turns, turns) for d, turns, _ in since]


def _way_back_scope(state: ChildState, drill: Drill, back: WayBack) -> Scope:
    surface = _signed_surface(state, drill) if back.level <= Support.STANDING_BY else None
    return Scope(back.level, surface)


def _is_clean(first: Tally, drill: Drill) -> bool:
    """The first turn of a tally: clean, or of a drill that is not clean or not clean."""
    return first.first_clean is True or drill.measure != "clean"


def _signed_surface(state: ChildState, drill: Drill) -> str | None:
    signed = [step for step in granted(drill, state) if step.signed_surface]
    return state.opened[signed[-1].stage].surface if signed else None


def _own_rate(state: ChildState, drill: Drill, ladder: Ladder) -> float:
    """The rate of the skill's own clean gate at its furthest open stage; else practice."""
    rules = ladder.own_rules.get(drill.key, ())
    rates = [gate.rule.rate for stage, gate in rules if stage.code in state.opened]
    return rates[-1] if rates else ladder.practice.rate


def taps_at(events: list[Event], drill: Drill) -> list[Event]:
    return [event for event in events if event.kind == "step" and event.drill == drill.key]


def grant_steps(
    state: ChildState, drill: Drill, evidence: Evidence, events: list[Event], ladder: Ladder
) -> None:
    """The steps that the record gives by tonight, also of a stage that opens tonight."""
    drill_state = state.drills[drill.key]
    for step in drill.allow:
        waits = step.waits and step.code not in drill_state.steps
        if waits and step_is_earned(state, drill, step, evidence, ladder):
            if step.tap and not any(tap.support == step.support for tap in taps_at(events, drill)):
                continue
            drill_state.steps.add(step.code)
    for watch in watches(drill, state, ladder):
        drill_state.watched_from.setdefault(watch.name, state.day + ONE_DAY)


def step_is_earned(
    state: ChildState, drill: Drill, step: Allowance, evidence: Evidence, ladder: Ladder
) -> bool:
    """True if the record gives this step, apart from a coach's tap where it asks for one."""
    drill_state = state.drills.get(drill.key)
    if drill_state is None or drill_state.open_since is None or step.stage not in state.opened:
        return False
    if step.steady is not None:
        scope = Scope(step.steady)
        days = evidence.clean_days(drill.key, ladder, state.day, scope)
        before = evidence.decayed_before(drill.key, scope)
        if not read_clean(days, state.day, ladder.practice, ladder.decay, before).met:
            return False
    opened = drill_state.open_since
    return not step.after_days or (
        evidence.days_open(drill.key, state.day, opened) >= step.after_days
    )
