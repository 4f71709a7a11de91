"""A young child's path to the handspring, as the page of the child shows it to staff. No family
reads it: it goes by age."""

from dataclasses import dataclass

from readiness.child.lookup import names_of
from readiness.engine.gates import GateReading
from readiness.engine.lead_in.path import lead_in_path
from readiness.record.standings import Reading
from readiness.words.gates import gate_title


@dataclass(frozen=True)
class PathTerm:
    """strands: (name, what its gates ask), in the ladder's order."""

    number: int
    strands: list[tuple[str, list[str]]]


@dataclass(frozen=True)
class Path:
    """stage: its name. terms: this one first."""

    stage: str
    until_age: int
    met: int
    terms: list[PathTerm]


def path_of(reading: Reading) -> Path | None:
    """None where there is none; see ``lead_in_path``."""
    ladder = reading.ladder.engine
    found = lead_in_path(reading.read, ladder, reading.child.age_on(reading.read.day))
    if found is None:
        return None
    rule = ladder.lead_in
    terms = [
        PathTerm(number, _strands(reading, gates))
        for number, gates in enumerate(found.terms, start=1)
    ]
    return Path(reading.ladder.stage_names[rule.stage], rule.until_age, found.met, terms)


def _strands(reading: Reading, gates: tuple[GateReading, ...]) -> list[tuple[str, list[str]]]:
    names, ladder = names_of(reading), reading.ladder
    titles: dict[str, list[str]] = {strand: [] for strand in ladder.strand_names}
    for gate in gates:
        strand = ladder.drills[gate.gate.drill]["strand"]
        titles[strand].append(gate_title(names, gate.gate, gate.need))
    return [(ladder.strand_names[strand], own) for strand, own in titles.items() if own]
