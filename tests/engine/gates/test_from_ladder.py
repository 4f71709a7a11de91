"""Gates from a ladder's file: what holds where the file leaves a number out."""

import pytest

from readiness.engine.gates import (
    CleanGate,
    CleanRule,
    ClearGate,
    CountGate,
    FirstTurnGate,
    ReachGate,
    SeenByTwoGate,
    gate_from,
)
from readiness.engine.levels import Support

RULE = {"rate": 0.6, "certainty": 0.9, "days": 3, "clean": 6}
ANY_HANDS = Support.HANDS_ON


@pytest.mark.parametrize(
    ("kind", "numbers", "measure", "gate"),
    [
        (
            "clean",
            RULE,
            "clean",
            CleanGate("g", "d", CleanRule(0.6, 0.9, 3, 6, 84, 28), ANY_HANDS, False, False),
        ),
        ("reach", {"at_least": 20}, "seconds", ReachGate("g", "d", 20, 2, 90, graded=False)),
        ("reach", {"at_least": 2}, "grade", ReachGate("g", "d", 2, 2, 90, graded=True)),
        ("clear", {"clean": 3, "days": 14}, "clean", ClearGate("g", "d", 3, 14)),
        ("count", {"clean": 3}, "clean", CountGate("g", "d", 3, 365)),
        ("seen-by-two", {}, "clean", SeenByTwoGate("g", "d", ANY_HANDS, 84, False)),
        ("first-turn", {}, "clean", FirstTurnGate("g", "d", ANY_HANDS, 28, False)),
    ],
)
def test_what_the_file_leaves_out_is_as_usual(kind, numbers, measure, gate):
    read = gate_from({"code": "g", "kind": kind, "drill": "d", **numbers}, measure)
    assert (read, read.kind) == (gate, kind)


@pytest.mark.parametrize("kind", ["clean", "seen-by-two", "first-turn"])
def test_a_gate_may_ask_for_the_signed_surface_at_a_support(kind):
    data = {"code": "g", "kind": kind, "drill": "d", "support": "standing-by", **RULE}
    gate = gate_from({**data, "surface": "signed"}, "clean")
    assert (gate.support, gate.asks_surface) == (Support.STANDING_BY, True)
    assert not gate_from(data, "clean").asks_surface


def test_a_kind_that_there_is_not_is_refused():
    with pytest.raises(KeyError, match="luck"):
        gate_from({"code": "g", "kind": "luck", "drill": "d"}, "clean")
