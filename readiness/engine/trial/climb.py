"""The climb: a perfect child, from an empty record to the top, with allowed turns only.

A ladder that such a child cannot climb would hold every child back; it is refused. So is one on
which one director alone, who logs, recommends and signs by herself, gets a child to unspotted.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.reading import FOR_REVIEW, read_stage
from readiness.engine.replay.days import beginning, end_day, start_day
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import ChildState
from readiness.engine.replay.way_back import step_is_earned
from readiness.engine.support import allowed_at_start, allowed_now
from readiness.engine.tallies import Turn, tally_turns

TURNS_A_DAY = 6
DAYS_BETWEEN = 3
MOST_DAYS = 200
FIRST_DAY = datetime.date(2024, 1, 1)
NOON = datetime.time(12, tzinfo=datetime.UTC)
GRADERS = (1, 2)


@dataclass(frozen=True)
class Climb:
    """opened: on which class day (1 is the first) each stage opened; stuck: those that never
    did, lowest first; unspotted: the skills, and the drills taught by hand, where the hands left.
    """

    opened: dict[str, int]
    stuck: tuple[str, ...]
    unspotted: tuple[str, ...]


def climb(ladder: Ladder, graders: Sequence[int] = GRADERS, days: int = MOST_DAYS) -> Climb:
    """Walk a perfect child up the ladder: every third day, by these graders in turn."""
    state = beginning(FIRST_DAY, lambda _: ladder)
    evidence = Evidence()
    opened: dict[str, int] = {}
    for number in range(1, days + 1):
        day = FIRST_DAY + datetime.timedelta(days=DAYS_BETWEEN * (number - 1))
        start_day(state, evidence, day, ladder)
        for code in state.opened:
            opened.setdefault(code, number)
        if len(opened) == len(ladder.stages):
            break
        turns = [
            turn
            for drill in ladder.drills.values()
            for turn in _perfect_turns(drill, state, evidence, ladder, graders)
        ]
        evidence.add(tally_turns(turns, ladder.stops))
        end_day(state, evidence, _decisions(state, evidence, ladder), ladder)
    stuck = tuple(stage.code for stage in ladder.stages if stage.code not in opened)
    return Climb(opened, stuck, _unspotted(state, ladder))


def _unspotted(state: ChildState, ladder: Ladder) -> tuple[str, ...]:
    """Where the next turn may be unspotted, on whatever surface."""
    return tuple(
        drill.key
        for drill in ladder.drills.values()
        if drill.skill or drill.taught_by_hand
        for least in [[allowed_at_start(drill, state, ladder, each) for each in ladder.surfaces]]
        if any(allowed.support is Support.UNSPOTTED for allowed in least)
    )


def _perfect_turns(
    drill: Drill, state: ChildState, evidence: Evidence, ladder: Ladder, graders: Sequence[int]
) -> list[Turn]:
    """The day's turns at a drill with the support allowed; none if it is not allowed.

    The first of them may need more support than the others.
    """
    surface = ladder.surfaces[-1]
    first = allowed_now(drill, state, evidence, ladder, surface)
    if first.support is None:
        return []
    turns = [_perfect_turn(drill, state, surface, first.support, 0, graders)]
    then = allowed_now(drill, state, evidence, ladder, surface, turns).support
    if then is not None:
        others = range(1, TURNS_A_DAY)
        turns += [_perfect_turn(drill, state, surface, then, at, graders) for at in others]
    return turns


def _perfect_turn(
    drill: Drill, state: ChildState, surface: str, support: int, at: int, graders: Sequence[int]
) -> Turn:
    is_clean = drill.measure == "clean"
    return Turn(
        id=f"{state.day}-{drill.key}-{at}",
        drill=drill.key,
        surface=surface,
        support=support,
        author=graders[at % len(graders)],
        day=state.day,
        at=datetime.datetime.combine(state.day, NOON) + datetime.timedelta(minutes=at),
        graded=True,
        clean=True if is_clean else None,
        value=None if is_clean else drill.most,
    )


def _decisions(state: ChildState, evidence: Evidence, ladder: Ladder) -> list[Event]:
    """A director signs whatever is for review; a coach gives every step that was earned."""
    at = datetime.datetime.combine(state.day, NOON) + datetime.timedelta(hours=1)
    signatures = [
        Event(
            "sign",
            state.day,
            at,
            f"sign-{stage.code}",
            stage=stage.code,
            surface=read.surface or ladder.surfaces[-1],
        )
        for stage in ladder.stages
        if stage.sign_off
        for read in [read_stage(stage, state, evidence, state.day, ladder)]
        if read.state == FOR_REVIEW
    ]
    taps = [
        Event("step", state.day, at, f"tap-{drill.key}", drill=drill.key, support=step.support)
        for drill in ladder.drills.values()
        for step in drill.allow
        if step.tap and step_is_earned(state, drill, step, evidence, ladder)
    ]
    return [*signatures, *taps]
