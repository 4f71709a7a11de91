"""What brings less support: the way back as it stands, and the steps that wait for a tap."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import ChildState
from readiness.engine.replay.way_back import (
    next_step_is_tapped,
    step_is_earned,
    way_back_days,
    way_back_ready_on,
)
from readiness.engine.support import base, granted, one_step_less


@dataclass(frozen=True)
class WayBackNow:
    """One drill's way back: from ``level``, step by step, to ``goal``; where the two are the
    same, what is left is the end of the re-check.

    clean of clean_need clean turns at that level or less stand on days after ``after``;
    ready: all that the record gives for the next step is there. tapped: the next step is a
    person's tap; director: that person is a director.
    """

    drill: str
    level: Support
    goal: Support
    after: datetime.date
    clean: int
    clean_need: int
    ready: bool
    tapped: bool
    director: bool
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Tap:
    """A step of less support that the record gives and a person has yet to say yes to.

    again: a step of the way back; else the step is given for the first time. director: it is a
    director's.
    """

    drill: str
    stage: str
    support: Support
    director: bool
    again: bool


def untapped_steps(state: ChildState, ladder: Ladder, events: Iterable[Event]) -> tuple[Tap, ...]:
    """Steps that the child was given before the ladder asked for a tap, and to which nobody has
    said yes since: the taps that are asked for now. They stay given. Of each drill only the least
    support counts: what led there is past."""
    tapped = {(event.drill, event.support) for event in events if event.kind == "step"}
    return tuple(
        Tap(drill.key, step.stage, step.support, director=False, again=False)
        for drill in ladder.drills.values()
        for step in granted(drill, state)
        if step.tap
        and step.support == base(drill, state, ladder, None)
        and (drill.key, step.support) not in tapped
    )


def ways_back(
    state: ChildState, evidence: Evidence, ladder: Ladder, day: datetime.date
) -> tuple[WayBackNow, ...]:
    """The ways back that ask for more than the open stages do, or keep one of them on re-check;
    in the ladder's order."""
    current = []
    for drill in ladder.drills.values():
        back, goal = state.way_back(drill.key), base(drill, state, ladder, None)
        if back is None or goal is None:
            continue
        holds = any(stage in state.opened for cause in back.causes for stage in cause.stages)
        if back.level <= goal and not holds:
            continue
        days = way_back_days(state, drill, back, evidence, ladder, day)
        current.append(
            WayBackNow(
                drill=drill.key,
                level=back.level,
                goal=goal,
                after=back.after,
                clean=sum(clean for _, _, clean in days),
                clean_need=ladder.way_back.clean,
                ready=way_back_ready_on(state, drill, evidence, ladder, day) is not None,
                tapped=next_step_is_tapped(state, drill, ladder),
                director=back.director and one_step_less(back.level) <= goal,
                causes=tuple(dict.fromkeys(cause.code for cause in back.causes)),
            )
        )
    return tuple(current)


def taps_due(
    state: ChildState, evidence: Evidence, ladder: Ladder, day: datetime.date, fallen: set[str]
) -> tuple[Tap, ...]:
    """The taps that would count today. ``fallen``: drills that fell today, which have none."""
    if state.is_held:
        return ()
    return tuple(_taps_due(state, evidence, ladder, day, fallen))


def _taps_due(
    state: ChildState, evidence: Evidence, ladder: Ladder, day: datetime.date, fallen: set[str]
) -> Iterator[Tap]:
    for drill in ladder.drills.values():
        drill_state, back = state.drills.get(drill.key), state.way_back(drill.key)
        if drill_state is None or drill.key in fallen:
            continue
        least = base(drill, state, ladder, None)
        for step in drill.allow:
            less = least is None or step.support < least
            # A step is no step while the way back asks for more than what is allowed already.
            held = back is not None and least is not None and back.level > least
            waits = less and not held and step.tap and step.code not in drill_state.steps
            if waits and step_is_earned(state, drill, step, evidence, ladder):
                yield Tap(drill.key, step.stage, step.support, director=False, again=False)
        if (
            back is not None
            and least is not None
            and next_step_is_tapped(state, drill, ladder)
            and way_back_ready_on(state, drill, evidence, ladder, day) is not None
        ):
            support = max(least, one_step_less(back.level))
            stage = [step.stage for step in granted(drill, state)][-1]
            directors = back.director and support == least
            yield Tap(drill.key, stage, support, director=directors, again=True)
