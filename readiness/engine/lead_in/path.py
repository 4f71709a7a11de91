"""Which gates to work on each term, so that the lead-ins to a stage are done by an age.

A plan for practice. It opens nothing, and a child who takes longer takes longer.
"""

from dataclasses import dataclass

from readiness.engine.gates import GateReading
from readiness.engine.ladder import Ladder
from readiness.engine.reading import StoredReading

# Common practice, no source.
TERMS_A_YEAR = 3


@dataclass(frozen=True)
class LeadInPath:
    """terms: the gates of each term, this one first, in the ladder's order. met: how many of the
    lead-ins are met already."""

    terms: tuple[tuple[GateReading, ...], ...]
    met: int


def lead_in_path(reading: StoredReading, ladder: Ladder, age: int | None) -> LeadInPath | None:
    """From the gates as they were read, for a child of so many whole years. None where the age is
    not known or not between the rule's, or the stage is open.

    Lead-ins are the gates of the stage and of all that it needs, at drills that are no skill. They
    are spread over the terms that are left as evenly as can be, more in the earlier ones.
    """
    rule = ladder.lead_in
    if age is None or not rule.from_age <= age < rule.until_age or rule.stage not in ladder.stage:
        return None
    if reading.stage(rule.stage).opening is not None:
        return None
    asked = _with_all_it_needs(rule.stage, ladder)
    lead_ins = [
        gate
        for stage in reading.stages
        if stage.stage.code in asked and stage.opening is None
        for gate in stage.gates
        if not any(ladder.drills[drill].skill for drill in gate.gate.drills)
    ]
    unmet = [gate for gate in lead_ins if not gate.met]
    terms = TERMS_A_YEAR * (rule.until_age - age)
    share, over = divmod(len(unmet), terms)
    sizes = [share + (at < over) for at in range(terms)]
    starts = [sum(sizes[:at]) for at in range(terms)]
    parts = [tuple(unmet[start : start + size]) for start, size in zip(starts, sizes, strict=True)]
    return LeadInPath(tuple(part for part in parts if part), len(lead_ins) - len(unmet))


def _with_all_it_needs(code: str, ladder: Ladder) -> set[str]:
    """The stage and every stage on the way to it."""
    found = {code}
    for need in ladder.stage[code].needs:
        found |= _with_all_it_needs(need, ladder)
    return found
