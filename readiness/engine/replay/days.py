"""The fold over local days: which stages are open, and how each way back goes.

The readings at a day's end and the day's events give the state at the next day's start.
The same tallies and the same events give the same states in whatever order they arrived.
"""

import datetime
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from readiness.engine.clean_rate import DayTurns, lately, read_clean
from readiness.engine.evidence import Evidence, Scope, counts
from readiness.engine.gates import memory_of, read_for_entry
from readiness.engine.ladder import (
    Allowance,
    CleanGate,
    ClearGate,
    Drill,
    Ladder,
    Stage,
    Support,
)
from readiness.engine.replay.events import Event, in_order
from readiness.engine.replay.state import Cause, ChildState, DrillState, Opening, WayBack
from readiness.engine.support import (
    base,
    granted,
    has_fallen,
    lately_asks,
    one_step_more,
    open_stages,
    watched_before,
    watched_days,
    watches,
)
from readiness.engine.tallies import Tally

LadderOn = Callable[[datetime.date], Ladder]
ONE_DAY = datetime.timedelta(days=1)


def fold(
    evidence: Evidence,
    events: Iterable[Event],
    until: datetime.date,
    ladder_on: LadderOn,
    start: ChildState | None = None,
) -> ChildState:
    """The state at the start of ``until``. ``ladder_on`` gives the ladder in force on a day.

    From nothing, or from ``start``, which is used up: the state at the start of an earlier day.
    """
    *_, state = walk(evidence, events, until, ladder_on, start)
    return state


def walk(
    evidence: Evidence,
    events: Iterable[Event],
    until: datetime.date,
    ladder_on: LadderOn,
    start: ChildState | None = None,
) -> Iterator[ChildState]:
    """The state at the start of each day before ``until`` that can change it, then of ``until``.

    It is one object that moves on: whoever keeps it sees it change.
    """
    by_day: dict[datetime.date, list[Event]] = {}
    for event in in_order(list(events)):
        by_day.setdefault(event.day, []).append(event)
    days = _days_that_count(evidence, set(by_day), until, ladder_on)
    if start is None:
        state = beginning(days[0] if days else until, ladder_on)
    else:
        state = start
        days = [day for day in days if day >= start.day]
    for day in days:
        start_day(state, evidence, day, ladder_on(day))
        yield state
        end_day(state, evidence, by_day.get(day, []), ladder_on(day))
    start_day(state, evidence, until, ladder_on(until))
    yield state


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
    found = []
    for day, end in pairwise(days):
        while day < end and ladder_on(day) is not ladder_on(end):
            before, after = day, end
            while after - before > ONE_DAY:
                middle = before + (after - before) // 2
                if ladder_on(middle) is ladder_on(day):
                    before = middle
                else:
                    after = middle
            found.append(after)
            day = after
    return found


def beginning(day: datetime.date, ladder_on: LadderOn) -> ChildState:
    """Before any record: the stages that ask for nothing are open."""
    state = ChildState(day - ONE_DAY)
    ladder = ladder_on(day)
    for stage in ladder.stages:
        if not stage.needs and not stage.gates and not stage.sign_off:
            _open(state, stage, Opening(day, "start"), ladder)
    for drill in ladder.drills.values():
        _open_drill(state, drill, Evidence(), ladder)
    return state


def start_day(state: ChildState, evidence: Evidence, day: datetime.date, ladder: Ladder) -> None:
    """Move the state to the start of ``day``: what time alone asks for."""
    state.day = day
    for key, kept in state.drills.items():
        drill = ladder.drills.get(key)
        if drill and drill.taught_by_hand and kept.open_since is not None:
            _absence(state, kept, drill, evidence, ladder)


def _absence(
    state: ChildState, kept: DrillState, drill: Drill, evidence: Evidence, ladder: Ladder
) -> None:
    """Too long without a turn: hands-on; longer still: the director looks again."""
    turned = evidence.last_day(drill.key, state.day - ONE_DAY)
    last = max(turned, kept.open_since) if turned and kept.open_since else kept.open_since
    if last is None or (state.day - last).days <= ladder.way_back.away_days:
        return
    director = (state.day - last).days > ladder.way_back.away_review_days
    told = kept.way_back and any(
        cause.code == "away" and cause.day > last for cause in kept.way_back.causes
    )
    if told and kept.way_back:
        kept.way_back = replace(kept.way_back, director=kept.way_back.director or director)
        return
    after = last + datetime.timedelta(days=ladder.way_back.away_days)
    stages = open_stages(drill, state, ladder)
    cause = Cause("away", after + ONE_DAY, stages, Support.HANDS_ON)
    _fall(kept, cause, after, director)


def end_day(state: ChildState, evidence: Evidence, events: list[Event], ladder: Ladder) -> None:
    """Close ``state.day``: what it leaves counts from the next day on."""
    for drill in ladder.drills.values():
        if drill.key in state.drills:
            _close_drill_day(state, drill, evidence, events, ladder)
    for event in events:
        _pauses_and_pain(state, event, ladder)
        _decided(state, event, evidence, ladder)
    for stage in ladder.stages:
        if not stage.sign_off and stage.code not in state.opened:
            _open_by_evidence(state, stage, evidence, ladder)
    for drill in ladder.drills.values():
        _open_drill(state, drill, evidence, ladder)
        if drill.key in state.drills:
            _grant_steps(state, drill, evidence, events, ladder)


# --- one drill's day -----------------------------------------------------------------


def _close_drill_day(
    state: ChildState, drill: Drill, evidence: Evidence, events: list[Event], ladder: Ladder
) -> None:
    kept = state.drills[drill.key]
    if kept.open_since is None or not drill.allow:
        return
    _stop_signs(state, kept, drill, evidence, ladder)
    _lately(state, kept, drill, evidence, ladder)
    # After a fall of this very day nothing counts yet, and the way back stays where it is.
    _walk_back(state, kept, drill, evidence, _taps(events, drill), ladder)


def _stop_signs(
    state: ChildState, kept: DrillState, drill: Drill, evidence: Evidence, ladder: Ladder
) -> None:
    if not evidence.stop_signs(drill.key, state.day):
        return
    rule = ladder.way_back
    recent = sum(
        evidence.stop_signs(drill.key, day)
        for day in evidence.days(drill.key, state.day)
        if (state.day - day).days <= rule.stops_within
    )
    stages = open_stages(drill, state, ladder)
    cause = Cause("stop-sign", state.day, stages, Support.HANDS_ON)
    _fall(kept, cause, state.day, recent >= rule.stops)


def _lately(
    state: ChildState, kept: DrillState, drill: Drill, evidence: Evidence, ladder: Ladder
) -> None:
    """Under half of what knowing nothing would give: one step more."""
    if not evidence.on(drill.key, state.day):
        return
    fallen = [
        watch
        for watch in watches(drill, state, ladder)
        if has_fallen(
            watched_days(watch, state, evidence, ladder, state.day),
            state.day,
            watch.rate,
            ladder,
            watched_before(watch, state, evidence),
        )
    ]
    if not fallen:
        return
    stages = tuple(dict.fromkeys(watch.stage for watch in fallen))
    cause = Cause("lately", state.day, stages, lately_asks(drill, state, ladder))
    _fall(kept, cause, state.day, director=False)


def _fall(kept: DrillState, cause: Cause, after: datetime.date, director: bool) -> None:
    back = kept.way_back or WayBack(cause.asks, after, ())
    kept.way_back = back.with_cause(cause, after, director)
    kept.watched_from = dict.fromkeys(kept.watched_from, after + ONE_DAY)


def _walk_back(
    state: ChildState,
    kept: DrillState,
    drill: Drill,
    evidence: Evidence,
    taps: list[Event],
    ladder: Ladder,
) -> None:
    """One step less a class day; the last step to signed unspotted work is a person's tap."""
    back = kept.way_back
    least = base(drill, state, ladder, None)
    if back is None or least is None:
        return
    class_day = way_back_ready_on(state, drill, evidence, ladder, state.day)
    if class_day is None:
        return
    target = Support(back.level - 1) if back.level else Support.UNSPOTTED
    if target > least:
        if class_day == state.day:
            kept.way_back = replace(back, level=target, after=state.day)
        return
    if last_step_is_tapped(state, drill, ladder):
        if not any(tap.support == least and (tap.director or not back.director) for tap in taps):
            return
    elif class_day != state.day:
        return
    kept.way_back = None


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
        own_rate(state, drill, ladder),
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
    a stop sign starts the way back anew.
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


def own_rate(state: ChildState, drill: Drill, ladder: Ladder) -> float:
    """The rate of the skill's own clean gate at its furthest open stage; else practice."""
    rates = [
        gate.rule.rate
        for stage in ladder.stages
        if stage.code in state.opened and drill.key in stage.skills
        for gate in stage.gates
        if isinstance(gate, CleanGate) and gate.drill == drill.key
    ]
    return rates[-1] if rates else ladder.practice.rate


def _taps(events: list[Event], drill: Drill) -> list[Event]:
    return [event for event in events if event.kind == "step" and event.drill == drill.key]


def _grant_steps(
    state: ChildState, drill: Drill, evidence: Evidence, events: list[Event], ladder: Ladder
) -> None:
    """The steps that the record gives by tonight, also of a stage that opens tonight."""
    kept = state.drills[drill.key]
    for step in drill.allow:
        waits = step.waits and step.code not in kept.steps
        if waits and step_is_earned(state, drill, step, evidence, ladder):
            if step.tap and not any(tap.support == step.support for tap in _taps(events, drill)):
                continue
            kept.steps.add(step.code)
    for watch in watches(drill, state, ladder):
        kept.watched_from.setdefault(watch.name, state.day + ONE_DAY)


def step_is_earned(
    state: ChildState, drill: Drill, step: Allowance, evidence: Evidence, ladder: Ladder
) -> bool:
    """True if the record gives this step, apart from a coach's tap where it asks for one."""
    kept = state.drills.get(drill.key)
    if kept is None or kept.open_since is None or step.stage not in state.opened:
        return False
    if step.steady is not None:
        scope = Scope(step.steady)
        days = evidence.clean_days(drill.key, ladder, state.day, scope)
        before = evidence.faded(drill.key, scope)
        if not read_clean(days, state.day, ladder.practice, memory_of(ladder), before).met:
            return False
    if not step.after_days:
        return True
    return evidence.days_open(drill.key, state.day, kept.open_since) >= step.after_days


# --- events --------------------------------------------------------------------------


def _pauses_and_pain(state: ChildState, event: Event, ladder: Ladder) -> None:
    if event.kind == "pause":
        state.paused_since = state.paused_since or event.day
    elif event.kind == "lift":
        state.paused_since = None
        state.pains = []
    elif event.kind == "pain":
        if pain_pauses(state.pains, event, ladder):
            state.paused_since = state.paused_since or event.day
        state.pains = [*state.pains, (event.day, event.place)]


def pain_pauses(before: list[tuple[datetime.date, str]], event: Event, ladder: Ladder) -> bool:
    """Head and neck at once; another place when told on two days within so many days."""
    pain = ladder.pains.get(event.place)
    if pain and pain.pause:
        return True
    return any(
        place == event.place and 0 < (event.day - day).days <= ladder.pain_again_days
        for day, place in before
    )


def _decided(state: ChildState, event: Event, evidence: Evidence, ladder: Ladder) -> None:
    stage = ladder.stage.get(event.stage)
    if stage is None:
        return
    if event.kind == "sign":
        _sign(state, stage, event, evidence, ladder)
    elif event.kind == "send-back":
        send_back(state, event)
    elif event.kind == "exception":
        state.exceptions.add(stage.code)
    elif event.kind == "place":
        _place(state, stage, event, ladder)


def send_back(state: ChildState, event: Event) -> None:
    """Not yet: the stage waits for a new class day; one that was signed closes again."""
    state.sent_back[event.stage] = event.day
    opening = state.opened.get(event.stage)
    if opening is not None and opening.how == "signature":
        del state.opened[event.stage]


def _sign(
    state: ChildState, stage: Stage, event: Event, evidence: Evidence, ladder: Ladder
) -> None:
    """Open for the surface signed for. Signed on evidence that has changed: re-check."""
    earlier = state.opened.get(stage.code)
    surface = event.surface
    if earlier and earlier.surface and ladder.rank(earlier.surface) > ladder.rank(surface):
        surface = earlier.surface
    since = earlier.since if earlier else state.day + ONE_DAY
    _open(state, stage, Opening(since, "signature", surface), ladder)
    if needs_met(state, stage) and all(
        read_for_entry(gate, evidence, state.day, ladder, event.surface).met for gate in stage.gates
    ):
        return
    for skill in stage.skills:
        steps = [s for s in ladder.drills[skill].allow if s.stage == stage.code and not s.waits]
        least = min((step.support for step in steps), default=Support.HANDS_ON)
        cause = Cause("evidence-changed", state.day, (stage.code,), one_step_more(least))
        _fall(state.drills[skill], cause, state.day, director=True)


def _place(state: ChildState, stage: Stage, event: Event, ladder: Ladder) -> None:
    """Open the stage and those it rests on, signed ones excepted, starting hands-on."""
    for code in _closure(stage, ladder):
        below = ladder.stage[code]
        if below.sign_off or code in state.opened:
            continue
        _open(state, below, Opening(state.day + ONE_DAY, "placing", event.surface), ladder)
        for skill in below.skills:
            kept = state.drills.setdefault(skill, DrillState())
            kept.open_since = kept.open_since or state.day + ONE_DAY
            cause = Cause("placed", state.day, (), Support.HANDS_ON)
            if kept.way_back is None:
                _fall(kept, cause, state.day, director=False)


def _closure(stage: Stage, ladder: Ladder) -> list[str]:
    """The stage's code and those of all it rests on, lowest first."""
    found: set[str] = set()
    waiting = [stage.code]
    while waiting:
        code = waiting.pop()
        if code not in found:
            found.add(code)
            waiting.extend(ladder.stage[code].needs)
    return [each.code for each in ladder.stages if each.code in found]


# --- opening -------------------------------------------------------------------------


def needs_met(state: ChildState, stage: Stage) -> bool:
    """The stages before it are open and not on re-check, or excepted in writing."""
    return not missing_needs(state, stage)


def missing_needs(state: ChildState, stage: Stage, fallen: Collection[str] = ()) -> tuple[str, ...]:
    """The stages that must be open, and not on re-check, before this one can be entered.

    fallen: stages that went to re-check during the state's day.
    """
    excepted = stage.exception_for if stage.code in state.exceptions else ()
    return tuple(
        need
        for need in stage.needs
        if need not in excepted and (need in fallen or not state.open_for_entry(need))
    )


def _open_by_evidence(state: ChildState, stage: Stage, evidence: Evidence, ladder: Ladder) -> None:
    if needs_met(state, stage) and all(
        read_for_entry(gate, evidence, state.day, ladder).met for gate in stage.gates
    ):
        _open(state, stage, Opening(state.day + ONE_DAY, "evidence"), ladder)


def _open(state: ChildState, stage: Stage, opening: Opening, ladder: Ladder) -> None:
    """What is watched of a stage that was closed is watched anew, from tomorrow."""
    anew = stage.code not in state.opened
    state.opened[stage.code] = opening
    for skill in stage.skills:
        kept = state.drills.setdefault(skill, DrillState())
        for watch in watches(ladder.drills[skill], state, ladder):
            if anew and watch.stage == stage.code:
                kept.watched_from.pop(watch.name, None)


def _open_drill(state: ChildState, drill: Drill, evidence: Evidence, ladder: Ladder) -> None:
    """A drill opens with its stage, once what else it needs has been met."""
    if drill.stage not in state.opened:
        return
    kept = state.drills.get(drill.key)
    if kept is None:
        kept = state.drills[drill.key] = DrillState()
    if kept.open_since is None and all(
        read_for_entry(gate, evidence, state.day, ladder).met for gate in drill.needs
    ):
        kept.open_since = state.day + ONE_DAY
