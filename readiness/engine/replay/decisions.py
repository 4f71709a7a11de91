"""What people decide and report: signing, sending back, placing; pauses and pain."""

import datetime
from collections.abc import Iterable

from readiness.engine.evidence import Evidence
from readiness.engine.head_steps import after_event, in_head_order
from readiness.engine.ladder import Ladder, Stage
from readiness.engine.levels import Support
from readiness.engine.replay.events import Event
from readiness.engine.replay.openings import needs_met, open_stage
from readiness.engine.replay.re_check import add_cause, start_hands_on
from readiness.engine.replay.state import ONE_DAY, Cause, ChildState, DrillState, Opening
from readiness.engine.support import one_step_more

# The kinds that ask for more caution after a head knock.
TAKES_BACK = ("head-knock", "head-symptom")


def apply_pause_or_pain(state: ChildState, event: Event, ladder: Ladder) -> None:
    if event.kind == "pause":
        state.paused_since = state.paused_since or event.day
    elif event.kind == "lift":
        state.paused_since = None
        state.pains, state.sore = [], {}
    elif event.kind == "pain":
        if pain_pauses(state.pains, event, ladder):
            state.paused_since = state.paused_since or event.day
        state.pains = [*state.pains, (event.day, event.place)]
        if ladder.pain_ask:
            state.sore = state.sore | {event.place: event.day}
    elif event.kind == "pain-gone":
        state.sore = without_gone(state.sore, event)


def apply_head(state: ChildState, events: Iterable[Event], ladder: Ladder) -> None:
    """What was told and given of a head knock. After a knock or a symptom hands start again."""
    for event in in_head_order(events):
        before = state.head
        state.head = after_event(before, event, ladder.head)
        if state.head != before and event.kind in TAKES_BACK:
            cause = Cause("head-knock", event.day, (), Support.HANDS_ON)
            start_hands_on(state, cause, ladder)


def with_todays_head(state: ChildState, today: Iterable[Event], ladder: Ladder) -> None:
    """A knock or a symptom counts at once; a clearance and a step from the next day."""
    for event in in_head_order(today):
        if event.kind in TAKES_BACK:
            state.head = after_event(state.head, event, ladder.head)


def without_gone(sore: dict[str, datetime.date], event: Event) -> dict[str, datetime.date]:
    """The places left when one is said to be gone; what hurts on that very day stays, in
    whatever order both were said."""
    return {place: day for place, day in sore.items() if place != event.place or day >= event.day}


def pain_pauses(before: list[tuple[datetime.date, str]], event: Event, ladder: Ladder) -> bool:
    """Head and neck at once; another place when reported on two days within so many days."""
    pain = ladder.pains.get(event.place)
    if pain and pain.pause:
        return True
    return any(
        place == event.place and 0 < (event.day - day).days <= ladder.pain_again_days
        for day, place in before
    )


def apply_decision(state: ChildState, event: Event, evidence: Evidence, ladder: Ladder) -> None:
    stage = ladder.stage.get(event.stage)
    if stage is None:
        return
    if event.kind == "sign":
        _sign(state, stage, event, evidence, ladder)
    elif event.kind == "send-back":
        send_back(state, event, ladder)
    elif event.kind == "exception":
        state.exceptions.add(stage.code)
    elif event.kind == "place":
        _place(state, stage, event, ladder)


def send_back(state: ChildState, event: Event, ladder: Ladder) -> None:
    """Not yet: the stage waits for a new class day; one that was signed closes again, and what was
    released in it."""
    state.sent_back[event.stage] = event.day
    opening = state.opened.get(event.stage)
    if opening is None or opening.how != "signature":
        return
    for stage in ladder.stages:
        if event.stage in (stage.code, stage.part_of):
            state.opened.pop(stage.code, None)


def _sign(
    state: ChildState, stage: Stage, event: Event, evidence: Evidence, ladder: Ladder
) -> None:
    """Open for the surface signed for. Signed on evidence that has changed: re-check."""
    earlier = state.opened.get(stage.code)
    surface = event.surface
    if earlier and earlier.surface and ladder.rank(earlier.surface) > ladder.rank(surface):
        surface = earlier.surface
    since = earlier.since if earlier else state.day + ONE_DAY
    open_stage(state, stage, Opening(since, "signature", surface), ladder)
    if needs_met(state, stage) and all(
        gate.read_for_entry(evidence, state.day, ladder, event.surface).met for gate in stage.gates
    ):
        return
    for skill in stage.skills:
        steps = [s for s in ladder.drills[skill].allow if s.stage == stage.code and not s.waits]
        least = min((step.support for step in steps), default=Support.HANDS_ON)
        cause = Cause("evidence-changed", state.day, (stage.code,), one_step_more(least))
        add_cause(state.drills[skill], cause, state.day, director=True)


def _place(state: ChildState, stage: Stage, event: Event, ladder: Ladder) -> None:
    """Open the stage and those it rests on, signed ones excepted, starting hands-on."""
    for code in _stages_below(stage, ladder):
        below = ladder.stage[code]
        if below.sign_off or code in state.opened:
            continue
        open_stage(state, below, Opening(state.day + ONE_DAY, "placing", event.surface), ladder)
        for skill in below.skills:
            drill_state = state.drills.setdefault(skill, DrillState())
            drill_state.open_since = drill_state.open_since or state.day + ONE_DAY
            cause = Cause("placed", state.day, (), Support.HANDS_ON)
            if drill_state.way_back is None:
                add_cause(drill_state, cause, state.day, director=False)


def _stages_below(top: Stage, ladder: Ladder) -> list[str]:
    """The stage's code and those of all it rests on, lowest first."""
    codes: set[str] = set()
    waiting = [top.code]
    while waiting:
        code = waiting.pop()
        if code not in codes:
            codes.add(code)
            waiting.extend(ladder.stage[code].needs)
    return [stage.code for stage in ladder.stages if stage.code in codes]
