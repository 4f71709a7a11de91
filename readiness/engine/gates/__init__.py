"""The kinds of gate, one module each.

A kind says what it reads, how far it looks back, when it goes stale, what it still needs and
what a tablet is given of it. Shared: used by whatever reads or shows gates.
"""

from collections.abc import Mapping
from typing import Any

from readiness.engine.gates.clean import CleanGate, CleanRule
from readiness.engine.gates.clear import ClearGate
from readiness.engine.gates.common import Gate, GateReading, Record
from readiness.engine.gates.count import CountGate
from readiness.engine.gates.first_turn import FirstTurnGate
from readiness.engine.gates.reach import ReachGate
from readiness.engine.gates.seen_by_two import SeenByTwoGate

__all__ = [
    "KINDS",
    "CleanGate",
    "CleanRule",
    "ClearGate",
    "CountGate",
    "FirstTurnGate",
    "Gate",
    "GateReading",
    "ReachGate",
    "Record",
    "SeenByTwoGate",
    "gate_from",
]

KINDS: dict[str, type[Gate]] = {
    kind.KIND: kind
    for kind in (CleanGate, ReachGate, ClearGate, CountGate, SeenByTwoGate, FirstTurnGate)
}


def gate_from(data: Mapping[str, Any], measure: str) -> Gate:
    """From a gate of a checked ladder file; KeyError for one that is not."""
    return KINDS[data["kind"]].from_data(data, measure)
