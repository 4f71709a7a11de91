"""Reading one gate in a story. Used by the tests of each kind of gate."""

from readiness.engine.evidence import Evidence
from readiness.engine.gates import Gate, GateReading, Record
from readiness.engine.tallies import tally_turns
from tests.support.engine.records import LADDER, MAT, Story, day

WALKOVER, WEDGE = "back-walkover", "wedge"
ASSISTANT = {"author": 9, "graded": False}


def read(gate: Gate, story: Story, number: int, surface: str = MAT) -> GateReading:
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    return gate.read(evidence, day(number), LADDER, surface)


def is_met(gate: Gate, story: Story, number: int, surface: str = MAT) -> bool:
    reading = read(gate, story, number, surface)
    assert (reading.progress == 1) is reading.met
    assert 0 <= reading.progress <= 1
    return reading.met


def in_one_class(gate: Gate, story: Story, number: int, surface: str = MAT) -> bool:
    """Could turns of this one day meet it?"""
    evidence = Evidence(tally_turns(story.turns, LADDER.stops))
    record = Record(evidence, LADDER, day(number), day(number), surface)
    return gate.within_one_class(read(gate, story, number, surface), record)
