"""What the gates' pages show: the list, one gate with what another value would do, versions."""

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from urllib.parse import urlencode

from progression.ladder.file import LadderFault, digest
from progression.models import LadderVersion
from readiness.engine.gates import memory_of
from readiness.engine.trial.error_rates import WEEKS, ChanceCurve, Classes
from readiness.gates import trial
from readiness.gates import words as gate_words
from readiness.gates.forms import ClassesForm, GateForm, SaveForm, assumed_classes
from readiness.gates.luck import (
    RATES,
    READY,
    TERM,
    YEAR,
    Habit,
    at_rate,
    habit_at,
    habits,
    low_rate,
    luck,
    rule_of,
)
from readiness.gates.trial import ChildChanges, PlacedGate, gate_at, gates_of
from readiness.record.ladders import Ladders, NamedLadder
from readiness.words.names import Names
from studio import access
from studio.models import Child, Staff

# --- the list --------------------------------------------------------------------------


@dataclass(frozen=True)
class Listed:
    """One gate of the list; luck: what it lets through, for a clean gate."""

    code: str
    title: str
    asks: str
    luck: str


@dataclass(frozen=True)
class Place:
    """A stage with its gates."""

    name: str
    gates: tuple[Listed, ...]


@dataclass(frozen=True)
class GatesList:
    """All gates of one version. ``newest``: it is the one that can be changed."""

    version: LadderVersion
    newest: bool
    in_force: bool
    form: ClassesForm
    query: str
    classes_line: str
    clean: tuple[Place, ...]
    others: tuple[Place, ...]


def gates_list(
    ladders: Ladders, asked: NamedLadder, data: Mapping[str, str], now: datetime.datetime
) -> GatesList:
    """The gates of a version, those that ask for clean turns with what they let through."""
    form, today = ClassesForm(data), trial.latest_today(now)
    form.is_valid()
    classes, names = assumed_classes(form, asked), gate_words.words_for(asked, today)
    every = list(gates_of(asked.content))
    version = version_row(asked.number)
    return GatesList(
        version=version,
        newest=asked.number == ladders.newest.number,
        in_force=version.from_day <= today,
        form=form,
        query=urlencode({"a_week": f"{classes.a_week:g}", "turns": classes.turns}),
        classes_line=gate_words.classes_line(classes),
        clean=_places([gate for gate in every if gate.kind == "clean"], asked, classes, names),
        others=_places([gate for gate in every if gate.kind != "clean"], asked, classes, names),
    )


def _places(
    gates: Sequence[PlacedGate], ladder: NamedLadder, classes: Classes, names: Names
) -> tuple[Place, ...]:
    return tuple(
        Place(name, tuple(_listed(gate, ladder, classes, names) for gate in some))
        for name, some in groupby(gates, lambda gate: gate_words.place(gate, names))
    )


def _listed(gate: PlacedGate, ladder: NamedLadder, classes: Classes, names: Names) -> Listed:
    said = ""
    if gate.kind == "clean":
        rule = rule_of(gate.row)
        rate = low_rate(rule)
        curve = luck(rule, memory_of(ladder.engine), classes, (rate,))
        said = gate_words.luck_line(rate, at_rate(curve, rate))
    return Listed(gate.code, gate_words.title(gate, names), gate_words.asks(gate, names), said)


def version_row(number: int) -> LadderVersion:
    rows = LadderVersion.objects.select_related("loaded_by").defer("content")
    return rows.get(number=number)


# --- the picture -----------------------------------------------------------------------


@dataclass(frozen=True)
class Line:
    """One curve in a box of 100 by 100; ``dots`` only for the values that are tried."""

    code: str
    path: str
    dots: tuple[str, ...] = ()


@dataclass(frozen=True)
class Picture:
    """The curves for one horizon. asked: the upright line at the rate the gate asks for."""

    weeks: int
    is_term: bool
    lines: tuple[Line, ...]
    asked: str


@dataclass(frozen=True)
class NumbersRow:
    """Chances at one true rate: for each horizon, curve by curve, with standard errors in
    hundredths, "" for what is exact."""

    rate: str
    cells: tuple[tuple[str, str], ...]


def _x(rate: float) -> float:
    return 100 * (rate - RATES[0]) / (RATES[-1] - RATES[0])


def _line(code: str, chances: Sequence[float]) -> Line:
    points = [(_x(rate), 100 - 100 * share) for rate, share in zip(RATES, chances, strict=True)]
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    dots = tuple(f"M{x:.1f} {y:.1f}h0" for x, y in points) if code == "tried" else ()
    return Line(code, path, dots)


def pictures(
    curves: Mapping[str, ChanceCurve], habit: Sequence[Habit], asked: float
) -> tuple[Picture, ...]:
    """A picture for the term and one for the year; the gate's own curves are drawn last."""
    return tuple(
        Picture(
            weeks=WEEKS[at],
            is_term=at == TERM,
            lines=(
                *(_line(each.code, each.chances[at]) for each in habit),
                *(_line(code, curve.chances[at]) for code, curve in curves.items()),
            ),
            asked=f"M{_x(asked):.1f} 0V100",
        )
        for at in (TERM, YEAR)
    )


def numbers(curves: Mapping[str, ChanceCurve], habit: Sequence[Habit]) -> list[NumbersRow]:
    """The table under the picture."""
    rows = []
    for place, rate in enumerate(RATES):
        cells: list[tuple[str, str]] = []
        for at in (TERM, YEAR):
            for curve in curves.values():
                error = gate_words.error_words(curve.errors[at][place])
                cells.append((gate_words.share_words(curve.chances[at][place]), error))
            cells += [(gate_words.share_words(each.chances[at][place]), "") for each in habit]
        rows.append(NumbersRow(gate_words.share_words(rate), tuple(cells)))
    return rows


# --- one gate --------------------------------------------------------------------------


@dataclass(frozen=True)
class LuckShown:
    """What a clean gate lets through: sentences, pictures, the numbers behind them."""

    lead: str
    ready: str
    habit: str
    classes: str
    runs: str
    asked: str
    pictures: tuple[Picture, ...]
    curves: tuple[str, ...]
    numbers: list[NumbersRow]

    @property
    def width(self) -> int:
        """Columns of the table under one horizon."""
        return len(self.numbers[0].cells) // len(WEEKS)


@dataclass(frozen=True)
class EffectGroup:
    """The children of one kind of change; unseen: those that are only counted."""

    title: str
    note: str
    heed: bool
    only_score: bool
    children: tuple[tuple[Child, str], ...]
    unseen: str


@dataclass(frozen=True)
class Trial:
    """Other values beside those in force. ``save``: the form that keeps them."""

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
    carried: list[tuple[str, str]]


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
    luck: LuckShown | None
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
    ladder, day = ladders.newest, trial.counts_from(ladders, now)
    gate = gate_at(ladder.content, code)
    if gate is None:
        return None
    form, names = GateForm(gate, ladder, data), gate_words.words_for(ladder, day)
    content, faults = ladder.content, []
    if form.is_valid():
        content = trial.changed(ladder.content, code, form.values())
    tries = digest(dict(content)) != digest(dict(ladder.content))
    if tries:
        faults = trial.faults_of(content)
    tried = gate_at(content, code) if tries and not faults else None
    curves = _curves(gate, tried, ladder, assumed_classes(form, ladder))
    version = version_row(ladder.number)
    return GatePage(
        gate=gate,
        title=gate_words.title(gate, names),
        place=gate_words.place(gate, names),
        asks=gate_words.asks(gate, names),
        version=version,
        in_force=version.from_day <= trial.latest_today(now),
        form=form,
        luck=_luck_shown(gate, curves, assumed_classes(form, ladder)) if curves else None,
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
    memory = memory_of(ladder.engine)
    return {code: luck(rule_of(row), memory, classes) for code, row in rows.items() if row}


def _luck_shown(gate: PlacedGate, curves: Mapping[str, ChanceCurve], classes: Classes) -> LuckShown:
    rule, habit = rule_of(gate.row), habits(classes)
    rate = low_rate(rule)
    terms = {each.code: habit_at(each, rate)[TERM] for each in habit}
    return LuckShown(
        lead=gate_words.luck_line(rate, at_rate(curves["now"], rate)),
        ready=gate_words.ready_line(READY, at_rate(curves["now"], READY)),
        habit=gate_words.habit_line(rate, terms),
        classes=gate_words.classes_line(classes),
        runs=gate_words.runs_line(
            curves["now"].runs, max(curve.largest_error for curve in curves.values())
        ),
        asked=gate_words.asked_words(rule),
        pictures=pictures(curves, habit, rule.rate),
        curves=tuple(curves),
        numbers=numbers(curves, habit),
    )


def _trial(
    ladders: Ladders,
    gate: PlacedGate,
    tried: PlacedGate,
    content: trial.Content,
    curves: Mapping[str, ChanceCurve],
    form: GateForm,
    staff: Staff,
    now: datetime.datetime,
    save: SaveForm | None,
) -> Trial:
    day = trial.counts_from(ladders, now)
    found = trial.what_it_does(content, tried, ladders, day)
    falls = sum(any(c.kind == trial.FALLS for c in each.changes) for each in found)
    shown = {"base": ladders.newest.number, "tried": digest(dict(content))}
    fresh = SaveForm(initial=shown)
    if save is not None:
        fresh = save.again(shown)
    low = low_rate(rule_of(gate.row)) if curves else 0.0
    warned = [at_rate(curve, low)[TERM] for curve in curves.values()]
    ready = [at_rate(curve, READY)[TERM] for curve in curves.values()]
    return Trial(
        rows=list(gate_words.rule_rows([gate.row, tried.row], gate.kind)),
        luck_rows=list(gate_words.luck_rows(low, READY, list(curves.values()))) if curves else [],
        warning=gate_words.luck_change(low, *warned) if curves else "",
        more_luck=bool(curves) and warned[1] > warned[0],
        ready=gate_words.ready_change(READY, *ready) if curves else "",
        day=day,
        lead=gate_words.effects_lead(len(found), falls, day),
        falls=falls > 0,
        groups=_groups(found, ladders.newest, staff, day),
        save=fresh,
        carried=list(form.carried()),
    )


def _groups(
    found: Sequence[ChildChanges], ladder: NamedLadder, staff: Staff, day: datetime.date
) -> list[EffectGroup]:
    """The changes by kind; a child whom this person does not see is counted and not named."""
    names = gate_words.words_for(ladder, day)
    own = set(access.visible_children(staff, day).values_list("pk", flat=True))
    named: dict[str, list[tuple[Child, str]]] = defaultdict(list)
    hidden: dict[str, set[int]] = defaultdict(set)
    by_child = {each.child.pk: each for each in found}
    for child in gate_words.by_name([each.child for each in found]):
        for change in by_child[child.pk].changes:
            if child.pk in own:
                named[change.kind].append((child, gate_words.effect(change, names)))
            else:
                hidden[change.kind].add(child.pk)
    return [
        EffectGroup(
            title=gate_words.with_number(
                str(heading), len({child.pk for child, _ in named[kind]} | hidden[kind])
            ),
            note=str(gate_words.EFFECT_NOTES.get(kind, "")),
            heed=kind == trial.FALLS,
            only_score=kind == trial.SCORE,
            children=tuple(named[kind]),
            unseen=gate_words.unseen(len(hidden[kind])) if hidden[kind] else "",
        )
        for kind, heading in gate_words.EFFECTS.items()
        if named[kind] or hidden[kind]
    ]


# --- versions --------------------------------------------------------------------------


@dataclass(frozen=True)
class VersionRow:
    """One version: who loaded it (empty: from a file), and what it changed in the one before."""

    number: int
    from_day: datetime.date
    loaded_at: datetime.datetime
    by: str
    reason: str
    first: bool
    changes: list[str]


def versions(now: datetime.datetime) -> list[VersionRow]:
    """All versions, the newest first, by a fixed number of queries."""
    today = trial.latest_today(now)
    rows = list(LadderVersion.objects.select_related("loaded_by").order_by("number"))
    ladders = [NamedLadder(row.number, row.content) for row in rows]
    found = []
    for at, row in enumerate(rows):
        before = ladders[at - 1] if at else None
        found.append(
            VersionRow(
                number=row.number,
                from_day=row.from_day,
                loaded_at=row.loaded_at,
                by=row.loaded_by.called if row.loaded_by else "",
                reason=row.reason,
                first=before is None,
                changes=gate_words.differences(before, ladders[at], today) if before else [],
            )
        )
    return found[::-1]
