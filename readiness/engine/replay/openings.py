"""When a stage or a drill opens.

Shared: used by the demo, to see what a stage waits for.
"""

from collections.abc import Collection

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Drill, Ladder, Stage
from readiness.engine.replay.state import ONE_DAY, ChildState, DrillState, Opening
from readiness.engine.support import watches


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


def open_by_evidence(state: ChildState, stage: Stage, evidence: Evidence, ladder: Ladder) -> None:
    if needs_met(state, stage) and all(
        gate.read_for_entry(evidence, state.day, ladder).met for gate in stage.gates
    ):
        open_stage(state, stage, Opening(state.day + ONE_DAY, "evidence"), ladder)


def open_stage(state: ChildState, stage: Stage, opening: Opening, ladder: Ladder) -> None:
    """A stage that was closed starts to be watched again, from tomorrow."""
    reopened = stage.code not in state.opened
    state.opened[stage.code] = opening
    for skill in stage.skills:
        drill_state = state.drills.setdefault(skill, DrillState())
        for watch in watches(ladder.drills[skill], state, ladder):
            if reopened and watch.stage == stage.code:
                drill_state.watched_from.pop(watch.name, None)


def open_drill(state: ChildState, drill: Drill, evidence: Evidence, ladder: Ladder) -> None:
    """A drill opens with its stage, once what else it needs has been met."""
    if drill.stage not in state.opened:
        return
    drill_state = state.drills.get(drill.key)
    if drill_state is None:
        drill_state = state.drills[drill.key] = DrillState()
    if drill_state.open_since is None and all(
        gate.read_for_entry(evidence, state.day, ladder).met for gate in drill.needs
    ):
        drill_state.open_since = state.day + ONE_DAY
