"""Which signed stage one good class could bring to review."""

import datetime

from readiness.engine.clean_rate import clean_turns_to_open
from readiness.engine.evidence import Evidence
from readiness.engine.gates import GateReading, clean_scope, decay_of
from readiness.engine.ladder import (
    CleanGate,
    ClearGate,
    CountGate,
    FirstTurnGate,
    Ladder,
    ReachGate,
    SeenByTwoGate,
)
from readiness.engine.reading import ChildReading, StageReading

# As many clean turns at one drill as a good class has room for (common practice, no source).
TURNS_IN_A_CLASS = 8


def near_review(
    reading: ChildReading, evidence: Evidence, ladder: Ladder
) -> list[tuple[StageReading, tuple[GateReading, ...]]]:
    """The closed stages that ask for a sign-off and that one good class could bring to review,
    each with the gates that are still unmet. None for a paused child."""
    if reading.state.paused_since is not None:
        return []
    near = []
    for stage in reading.stages:
        unmet = tuple(gate for gate in stage.gates if not gate.met)
        waits = stage.stage.sign_off and stage.opening is None and not stage.waits_for
        if (
            waits
            and unmet
            and all(_in_one_class(g, stage, reading, evidence, ladder) for g in unmet)
        ):
            near.append((stage, unmet))
    return near


def _in_one_class(
    reading: GateReading,
    stage: StageReading,
    child: ChildReading,
    evidence: Evidence,
    ladder: Ladder,
) -> bool:
    """True if turns of this one day can meet the gate."""
    gate, day = reading.gate, child.day
    match gate:
        case CleanGate():
            return _clean_turns_today(gate, stage.surface, evidence, day, ladder)
        case ReachGate():
            today = set(reading.days) - {day}
            return len(today) >= gate.days - 1
        case ClearGate():
            rested = (day - reading.days[0]).days >= gate.days
            return rested and gate.clean - reading.value <= TURNS_IN_A_CLASS
        case CountGate():
            return gate.clean - reading.value <= TURNS_IN_A_CLASS
        case SeenByTwoGate():
            # Whoever has seen it saw it on some day; a second grader may see it today.
            return reading.value >= 1
        case FirstTurnGate():
            return not evidence.on(gate.drill, day)
    raise TypeError(f"not a gate: {gate!r}")


def _clean_turns_today(
    gate: CleanGate, surface: str | None, evidence: Evidence, day: datetime.date, ladder: Ladder
) -> bool:
    scope = clean_scope(gate, surface)
    days = evidence.clean_days(gate.drill, ladder, day, scope)
    before = evidence.decayed_before(gate.drill, scope)
    needed = clean_turns_to_open(days, day, gate.rule, [day], decay_of(ladder), before)
    return needed is not None and needed[0] <= TURNS_IN_A_CLASS
