"""The page of one gate, with what other values for it would do."""

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from progression.ladder.file import LadderFault, digest
from progression.models import LadderVersion
from readiness.engine.trial.error_rates import WEEKS, ChanceCurve
from readiness.engine.trial.simulation import Classes
from readiness.gates.change_words import (
    EFFECT_NOTES,
    EFFECTS,
    by_name,
    effect_text,
    effects_lead,
    hidden_children,
    luck_change,
    luck_rows,
    ready_change,
    rule_rows,
    with_number,
)
from readiness.gates.curves import CurveChart, NumbersRow, curve_charts, number_rows
from readiness.gates.forms import GateForm, SaveForm, assumed_classes
from readiness.gates.ladder_gates import Content, PlacedGate, gate_at, ladder_faults, with_values
from readiness.gates.luck import READY, TERM, at_rate, habit_at, habits, low_rate, luck, rule_of
from readiness.gates.trial import FALLS, SCORE, ChildChanges, effects_on_children
from readiness.gates.versions import counts_from, latest_today, load_version
from readiness.gates.words import (
    asked_line,
    asks_sentence,
    classes_line,
    habit_line,
    ladder_names,
    luck_line,
    placed_title,
    ready_line,
    runs_line,
    stage_title,
)
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.models import Child, Staff


@dataclass(frozen=True)
class GateLuck:
    """What a clean gate lets through: sentences, charts, the numbers behind them."""

    lead: str
    ready: str
    habit: str
    classes: str
    runs: str
    asked: str
    charts: tuple[CurveChart, ...]
    curves: tuple[str, ...]
    numbers: list[NumbersRow]

    @property
    def width(self) -> int:
        """Columns of the table under one horizon."""
        return len(self.numbers[0].cells) // len(WEEKS)


@dataclass(frozen=True)
class EffectGroup:
    """The children of one kind of change; hidden: those that are only counted."""

    title: str
    note: str
    heed: bool
    only_score: bool
    children: tuple[tuple[Child, str], ...]
    hidden: str


@dataclass(frozen=True)
class Trial:
    """Other values beside those in force. ``save``: the form that saves them."""

    rows: list[tuple[str, list[str]]]
    luck_rows: list[tuple[str, list[str]]]
    warning: str
    more_luck: bool
    ready: str
    day: datetime.date
    lead: str
    falls: bool
    groups: list[EffectGroup]
    save: SaveForm
    hidden_fields: list[tuple[str, str]]


@dataclass(frozen=True)
class GatePage:
    """One gate. faults: why the values tried would be refused."""

    gate: PlacedGate
    title: str
    place: str
    asks: str
    version: LadderVersion
    in_force: bool
    form: GateForm
    luck: GateLuck | None
    trial: Trial | None
    faults: list[LadderFault]

    @property
    def wrong(self) -> bool:
        return bool(self.faults) or not self.form.is_valid()


def gate_page(
    ladders: Ladders,
    code: str,
    data: Mapping[str, str],
    staff: Staff,
    now: datetime.datetime,
    save: SaveForm | None = None,
) -> GatePage | None:
    """One gate of the newest version, with what the values asked for would do; None if there is
    no such gate. ``save``: a refused form, in the place of a new one."""
    ladder, day = ladders.newest, counts_from(ladders, now)
    gate = gate_at(ladder.content, code)
    if gate is None:
        return None
    form, names = GateForm(gate, ladder, data), ladder_names(ladder, day)
    content, faults = ladder.content, []
    if form.is_valid():
        content = with_values(ladder.content, code, form.values())
    tries = digest(dict(content)) != digest(dict(ladder.content))
    if tries:
        faults = ladder_faults(content)
    tried = gate_at(content, code) if tries and not faults else None
    curves = _curves(gate, tried, ladder, assumed_classes(form, ladder))
    version = load_version(ladder.number)
    return GatePage(
        gate=gate,
        title=placed_title(gate, names),
        place=stage_title(gate, names),
        asks=asks_sentence(gate, names),
        version=version,
        in_force=version.from_day <= latest_today(now),
        form=form,
        luck=_gate_luck(gate, curves, assumed_classes(form, ladder)) if curves else None,
        trial=_trial(ladders, gate, tried, content, curves, form, staff, now, save)
        if tried
        else None,
        faults=faults,
    )


def values_in(ladders: Ladders, code: str, data: Mapping[str, str]) -> dict[str, float] | None:
    """The gate's values in what was sent; None if one is wrong, or if there is no such gate."""
    gate = gate_at(ladders.newest.content, code)
    if gate is None:
        return None
    form = GateForm(gate, ladders.newest, data)
    return form.values() if form.is_valid() else None


def _curves(
    gate: PlacedGate, tried: PlacedGate | None, ladder: NamedLadder, classes: Classes
) -> dict[str, ChanceCurve]:
    """The curve as it is, and as it would be; none for a gate that asks for no clean rate."""
    if gate.kind != "clean":
        return {}
    rows = {"now": gate.row, "tried": tried.row if tried else None}
    memory = ladder.engine.decay
    return {code: luck(rule_of(row), memory, classes) for code, row in rows.items() if row}


def _gate_luck(gate: PlacedGate, curves: Mapping[str, ChanceCurve], classes: Classes) -> GateLuck:
    rule, habit = rule_of(gate.row), habits(classes)
    rate = low_rate(rule)
    terms = {habit_rule.code: habit_at(habit_rule, rate)[TERM] for habit_rule in habit}
    return GateLuck(
        lead=luck_line(rate, at_rate(curves["now"], rate)),
        ready=ready_line(READY, at_rate(curves["now"], READY)),
        habit=habit_line(rate, terms),
        classes=classes_line(classes),
        runs=runs_line(curves["now"].runs, max(curve.largest_error for curve in curves.values())),
        asked=asked_line(rule),
        charts=curve_charts(curves, habit, rule.rate),
        curves=tuple(curves),
        numbers=number_rows(curves, habit),
    )


def _trial(
    ladders: Ladders,
    gate: PlacedGate,
    tried: PlacedGate,
    content: Content,
    curves: Mapping[str, ChanceCurve],
    form: GateForm,
    staff: Staff,
    now: datetime.datetime,
    save: SaveForm | None,
) -> Trial:
    day = counts_from(ladders, now)
    effects = effects_on_children(content, tried, ladders, day)
    falls = sum(any(c.kind == FALLS for c in child.changes) for child in effects)
    shown = {"base": ladders.newest.number, "tried": digest(dict(content))}
    fresh = SaveForm(initial=shown)
    if save is not None:
        fresh = save.again(shown)
    low = low_rate(rule_of(gate.row)) if curves else 0.0
    low_chances = [at_rate(curve, low)[TERM] for curve in curves.values()]
    ready_chances = [at_rate(curve, READY)[TERM] for curve in curves.values()]
    return Trial(
        rows=list(rule_rows([gate.row, tried.row], gate.kind)),
        luck_rows=list(luck_rows(low, READY, list(curves.values()))) if curves else [],
        warning=luck_change(low, *low_chances) if curves else "",
        more_luck=bool(curves) and low_chances[1] > low_chances[0],
        ready=ready_change(READY, *ready_chances) if curves else "",
        day=day,
        lead=effects_lead(len(effects), falls, day),
        falls=falls > 0,
        groups=_effect_groups(effects, ladders.newest, staff, day),
        save=fresh,
        hidden_fields=list(form.as_hidden()),
    )


def _effect_groups(
    effects: Sequence[ChildChanges], ladder: NamedLadder, staff: Staff, day: datetime.date
) -> list[EffectGroup]:
    """The changes by kind; a child whom this person does not see is counted and not named."""
    names = ladder_names(ladder, day)
    own = set(access.visible_children(staff, day).values_list("pk", flat=True))
    named: dict[str, list[tuple[Child, str]]] = defaultdict(list)
    hidden: dict[str, set[int]] = defaultdict(set)
    by_child = {effect.child.pk: effect for effect in effects}
    for child in by_name([effect.child for effect in effects]):
        for change in by_child[child.pk].changes:
            if child.pk in own:
                named[change.kind].append((child, effect_text(change, names)))
            else:
                hidden[change.kind].add(child.pk)
    return [
        EffectGroup(
            title=with_number(
                str(heading), len({child.pk for child, _ in named[kind]} | hidden[kind])
            ),
            note=str(EFFECT_NOTES.get(kind, "")),
            heed=kind == FALLS,
            only_score=kind == SCORE,
            children=tuple(named[kind]),
            hidden=hidden_children(len(hidden[kind])) if hidden[kind] else "",
        )
        for kind, heading in EFFECTS.items()
        if named[kind] or hidden[kind]
    ]
