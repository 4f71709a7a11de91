"""The way back after a fall, and the steps of support that are given for the first time."""

import datetime
from collections.abc import Sequence
from dataclasses import replace

from readiness.engine.clean_rate import DayTurns, lately, read_clean
from readiness.engine.evidence import Evidence, Scope, counts
from readiness.engine.ladder import Allowance, Drill, Ladder, TapRule
from readiness.engine.levels import Support
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import ONE_DAY, ChildState, DrillState, WayBack
from readiness.engine.support import base, granted, one_step_less, watches
from readiness.engine.tallies import Tally


def walk_back(
    state: ChildState,
    drill_state: DrillState,
    drill: Drill,
    evidence: Evidence,
    taps: list[Event],
    ladder: Ladder,
) -> None:
    """One step less a class day; a person's tap is the last step to signed unspotted work, and
    each step at a drill that hands leave by a tap."""
    back = drill_state.way_back
    least = base(drill, state, ladder, None)
    if back is None or least is None:
        return
    class_day = way_back_ready_on(state, drill, evidence, ladder, state.day)
    if class_day is None:
        return
    target = one_step_less(back.level)
    last = target <= least
    if next_step_is_tapped(state, drill, ladder):
        directors = last and back.director
        given = least if last else target
        if not any(tap.support == given and (tap.director or not directors) for tap in taps):
            return
    elif class_day != state.day:
        return
    drill_state.way_back = None if last else replace(back, level=target, after=state.day)


def next_step_is_tapped(state: ChildState, drill: Drill, ladder: Ladder) -> bool:
    """True if one step less than now is unspotted work that was signed for, or the hands leave
    this drill by a tap."""
    back, least = state.way_back(drill.key), base(drill, state, ladder, None)
    if back is None or least is None:
        return False
    if drill.hands_leave_by_tap and back.level > least:
        return True
    signed = any(step.signed_surface for step in granted(drill, state))
    return signed and back.level <= Support.STANDING_BY


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
        if step.code in drill_state.steps:
            continue
        if not step.waits:
            # Given with its stage; it stays so under a ladder that asks for more.
            if step.stage in state.opened and drill_state.open_since is not None:
                drill_state.steps.add(step.code)
        elif step_is_earned(state, drill, step, evidence, ladder):
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
        scope, asked = Scope(step.steady), ladder.tap if step.tap else None
        if not _is_steady(drill, scope, asked, state.day, evidence, ladder):
            return False
    if step.clean_each:
        window = datetime.timedelta(days=ladder.practice.within)
        first = max(drill_state.open_since, state.day - window)
        days = evidence.clean_days(drill.key, ladder, state.day)
        good = [day for day, _, clean in days if day >= first and clean >= step.clean_each]
        return len(good) >= step.after_days
    opened = drill_state.open_since
    return not step.after_days or (
        evidence.days_open(drill.key, state.day, opened) >= step.after_days
    )


def _is_steady(
    drill: Drill,
    scope: Scope,
    asked: TapRule | None,
    day: datetime.date,
    evidence: Evidence,
    ladder: Ladder,
) -> bool:
    """By the practice rule; ``asked``: by the rule for taps."""
    days = evidence.clean_days(drill.key, ladder, day, scope)
    before = evidence.decayed_before(drill.key, scope)
    rule = asked.clean if asked else ladder.practice
    if not read_clean(days, day, rule, ladder.decay, before).met:
        return False
    if asked is None:
        return True
    first = day - datetime.timedelta(days=rule.within)
    return _newest_are_good(drill, [each for each in days if each[0] >= first], asked, evidence)


def _newest_are_good(
    drill: Drill, days: Sequence[DayTurns], asked: TapRule, evidence: Evidence
) -> bool:
    """The clean share of the newest days that together hold enough turns, and no stop sign."""
    turns = clean = 0
    for day, turns_of_day, clean_of_day in reversed(days):
        if evidence.stop_signs(drill.key, day):
            return False
        turns, clean = turns + turns_of_day, clean + clean_of_day
        if turns >= asked.turns:
            return clean >= asked.clean.rate * turns
    return False
