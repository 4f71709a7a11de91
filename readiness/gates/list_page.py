"""The page of all gates: what each asks, and what it lets through by luck."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from urllib.parse import urlencode

from progression.models import LadderVersion
from readiness.engine.trial.simulation import Classes
from readiness.gates.forms import ClassesForm, assumed_classes
from readiness.gates.ladder_gates import PlacedGate, gates_of
from readiness.gates.luck import at_rate, low_rate, luck, rule_of
from readiness.gates.versions import latest_today, load_version
from readiness.gates.words import (
    asks_sentence,
    classes_line,
    ladder_names,
    luck_line,
    placed_title,
    stage_title,
)
from readiness.record.ladders import Ladders, NamedLadder
from readiness.words.names import Names


@dataclass(frozen=True)
class GateRow:
    """One gate of the list; luck: what it lets through, for a clean gate."""

    code: str
    title: str
    asks: str
    luck: str


@dataclass(frozen=True)
class StageGates:
    """A stage with its gates."""

    name: str
    gates: tuple[GateRow, ...]


@dataclass(frozen=True)
class GatesList:
    """All gates of one version. ``newest``: it is the one that can be changed."""

    version: LadderVersion
    newest: bool
    in_force: bool
    form: ClassesForm
    query: str
    classes_line: str
    clean: tuple[StageGates, ...]
    others: tuple[StageGates, ...]


def gates_list(
    ladders: Ladders, ladder: NamedLadder, data: Mapping[str, str], now: datetime.datetime
) -> GatesList:
    """The gates of a version, those that ask for clean turns with what they let through."""
    form, today = ClassesForm(data), latest_today(now)
    form.is_valid()
    classes, names = assumed_classes(form, ladder), ladder_names(ladder, today)
    gates = list(gates_of(ladder.content))
    version = load_version(ladder.number)
    return GatesList(
        version=version,
        newest=ladder.number == ladders.newest.number,
        in_force=version.from_day <= today,
        form=form,
        query=urlencode({"a_week": f"{classes.a_week:g}", "turns": classes.turns}),
        classes_line=classes_line(classes),
        clean=_stage_gates(
            [gate for gate in gates if gate.kind == "clean"], ladder, classes, names
        ),
        others=_stage_gates(
            [gate for gate in gates if gate.kind != "clean"], ladder, classes, names
        ),
    )


def _stage_gates(
    gates: Sequence[PlacedGate], ladder: NamedLadder, classes: Classes, names: Names
) -> tuple[StageGates, ...]:
    return tuple(
        StageGates(name, tuple(_gate_row(gate, ladder, classes, names) for gate in group))
        for name, group in groupby(gates, lambda gate: stage_title(gate, names))
    )


def _gate_row(gate: PlacedGate, ladder: NamedLadder, classes: Classes, names: Names) -> GateRow:
    sentence = ""
    if gate.kind == "clean":
        rule = rule_of(gate.row)
        rate = low_rate(rule)
        curve = luck(rule, ladder.engine.decay, classes, (rate,))
        sentence = luck_line(rate, at_rate(curve, rate))
    return GateRow(gate.code, placed_title(gate, names), asks_sentence(gate, names), sentence)
