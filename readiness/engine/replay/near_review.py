"""Which signed stage one good class could bring to review."""

from readiness.engine.evidence import Evidence
from readiness.engine.gates import GateReading, Record
from readiness.engine.ladder import Ladder
from readiness.engine.reading import ChildReading, StageReading


def near_review(
    reading: ChildReading, evidence: Evidence, ladder: Ladder
) -> list[tuple[StageReading, tuple[GateReading, ...]]]:
    """The closed stages that ask for a sign-off and that one good class could bring to review,
    each with the gates that are still unmet. None for a paused child."""
    if reading.state.is_held:
        return []
    near = []
    for stage in reading.stages:
        record = Record(evidence, ladder, reading.day, reading.day, stage.surface)
        unmet = tuple(gate for gate in stage.gates if not gate.met)
        waits = stage.stage.sign_off and stage.opening is None and not stage.waits_for
        if waits and unmet and all(gate.gate.within_one_class(gate, record) for gate in unmet):
            near.append((stage, unmet))
    return near
