"""The gates of a ladder that can be changed, and the ladder with other values in one of them."""

import copy
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from progression.ladder.file import LadderFault
from readiness.record.ladder_loading import LadderRefused, check

# The rule for the steps inside a stage, beside the gates' codes.
PRACTICE = "practice"


# What may be changed of each kind of gate; of the kinds that are not named, nothing.
CHANGEABLE: Mapping[str, tuple[str, ...]] = {
    "clean": ("rate", "certainty", "days", "clean", "fresh"),
    "reach": ("at_least", "days"),
    "clear": ("clean", "days"),
    "count": ("clean",),
}


Content = Mapping[str, Any]


@dataclass(frozen=True)
class PlacedGate:
    """A gate of a ladder's content, and where it stands.

    stage: the code of the stage or release that it opens; of a gate that a drill needs, the
    stage of that drill, and ``opens`` is the drill. Practice has neither stage nor drill.
    """

    code: str
    kind: str
    drill: str
    stage: str
    opens: str
    row: dict[str, Any]


def gates_of(content: Content) -> Iterator[PlacedGate]:
    """Practice first, then every gate that can be changed, in the ladder's order."""
    yield PlacedGate(PRACTICE, "clean", "", "", "", content["practice"])
    for stage in content["stage"]:
        number = str(stage["number"])
        yield from _placed(stage.get("gate", []), number)
        for drill in content["drill"]:
            if drill["stage"] == stage["number"]:
                yield from _placed(drill.get("needs", []), number, drill["key"])
        for release in stage.get("release", []):
            yield from _placed(release["gate"], release["code"])


def _placed(rows: Iterable[dict[str, Any]], stage: str, opens: str = "") -> Iterator[PlacedGate]:
    for row in rows:
        if row["kind"] in CHANGEABLE:
            yield PlacedGate(row["code"], row["kind"], row["drill"], stage, opens, row)


def gate_at(content: Content, code: str) -> PlacedGate | None:
    return next((gate for gate in gates_of(content) if gate.code == code), None)


def with_values(content: Content, code: str, values: Mapping[str, float]) -> dict[str, Any]:
    """The ladder with other values in one gate; KeyError if there is no such gate."""
    copied = copy.deepcopy(dict(content))
    gate = gate_at(copied, code)
    if gate is None:
        raise KeyError(code)
    gate.row.update({name: values[name] for name in CHANGEABLE[gate.kind]})
    return copied


def ladder_faults(content: Content) -> list[LadderFault]:
    """Everything for which a ladder would be refused; none if it is right."""
    try:
        check(content)
    except LadderRefused as refused:
        return refused.faults
    return []
