"""The ladder as it is drawn beside a child: levels of one track, or of several side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.child.lookup import names_of
from readiness.engine.ladder import Stage
from readiness.record.standings import Reading
from readiness.words.stages import stage_state


@dataclass(frozen=True)
class Rung:
    """One stage in the drawn ladder. ``parts``: skills of its own, once it is open."""

    code: str
    name: str
    state: str
    state_text: str
    here: bool
    parts: tuple["Rung", ...] = ()


def ladder_levels(reading: Reading, shown: str) -> list[list[list[Rung]]]:
    """The ladder from the top: levels, each of one track or of several side by side."""
    names = names_of(reading)

    def rung(code: str) -> Rung:
        stage = reading.read.stage(code)
        parts = reading.read.skills_of(code) if stage.opening else []
        return Rung(
            code=code,
            name=names.stage(code),
            state=stage.state,
            state_text=stage_state(names, stage),
            here=code == shown,
            parts=tuple(rung(part.stage.code) for part in parts),
        )

    whole = [stage for stage in reading.ladder.engine.stages if stage.part_of is None]
    return [[[rung(code) for code in track] for track in level] for level in levels_of(whole)]


def levels_of(stages: Sequence[Stage]) -> list[list[list[str]]]:
    """Stages from the top down: a chain is one track; where a stage rests on several, their
    chains stand side by side down to where they part.

    A ladder of another shape is one track.
    """
    by_code = {stage.code: stage for stage in stages}
    levels: list[list[list[str]]] = []
    code: str | None = stages[-1].code
    while code is not None:
        needs = by_code[code].needs
        if not levels or len(levels[-1]) > 1:
            levels.append([[]])
        levels[-1][0].append(code)
        if len(needs) < 2:
            code = needs[0] if needs else None
            continue
        chains = [_chain(need, by_code) for need in needs]
        shared = set(chains[0]).intersection(*chains[1:])
        levels.append([[code for code in chain if code not in shared] for chain in chains])
        code = next((below for below in chains[0] if below in shared), None)
    drawn = [stage for level in levels for track in level for stage in track]
    if sorted(drawn) != sorted(by_code):
        return [[[stage.code for stage in reversed(stages)]]]
    return levels


def _chain(code: str, by_code: Mapping[str, Stage]) -> list[str]:
    """A stage and those below it, as long as each rests on one."""
    chain = [code]
    while len(by_code[chain[-1]].needs) == 1:
        chain.append(by_code[chain[-1]].needs[0])
    return chain
