"""What the page of one child shows, gathered from a reading and a few short lists."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, cast

from django.utils.translation import gettext as _

from progression.models import Attempt, Strike
from readiness.child.charts import Chart, chart_of
from readiness.child.forms import StepForm
from readiness.engine.clean_rate import MOST_DAYS_AHEAD, clean_turns_to_open
from readiness.engine.gates import GateReading, clean_scope, memory_of
from readiness.engine.ladder import SUPPORT_BY_CODE, CleanGate, Stage
from readiness.engine.reading import FOR_REVIEW, StageReading
from readiness.engine.replay.next_step import Tap
from readiness.engine.statistics.hand_contacts import hand_contacts, landings
from readiness.models import Decision, FaultTally, Pain, Pause, PauseLift, Placing
from readiness.record.decisions import lift_under_way, may_tap, seen_stage
from readiness.record.ladders import NamedLadder
from readiness.record.standings import Reading
from readiness.words.decisions import decision_text, give_support_label, placing_text
from readiness.words.gates import (
    NO_FORECAST,
    Forecast,
    gate_chart_line,
    gate_sentence,
    gate_stale,
    gate_title,
)
from readiness.words.landings import landing_sentences
from readiness.words.names import Names
from readiness.words.pauses import pain_text, pain_today_sentence
from readiness.words.re_check import brings_back, re_check_causes, way_back_sentence, way_back_waits
from readiness.words.stages import all_stages, stage_notes, stage_of, stage_state
from readiness.words.support import support_reasons
from readiness.words.turns import flag_text, mending_text, outcome_text, strike_text
from studio.models import Child, Staff
from studio.people.meetings import coming_days

# "Lately" on this page: eight weeks.
LATELY_DAYS = 56
TURNS_SHOWN = 12
NOTES_SHOWN = 12


def names_of(reading: Reading) -> Names:
    return Names(reading.child.called, reading.ladder, reading.read.day)


# --- the ladder ----------------------------------------------------------------------


@dataclass(frozen=True)
class Rung:
    """One stage in the drawn ladder. ``parts``: skills of its own, once it is open."""

    code: str
    name: str
    state: str
    said: str
    here: bool
    parts: tuple["Rung", ...] = ()


def ladder_levels(reading: Reading, shown: str) -> list[list[list[Rung]]]:
    """The ladder from the top: levels, each of one track or of several side by side."""
    names, stages = names_of(reading), {each["code"]: each for each in all_stages(reading.data)}

    def rung(code: str) -> Rung:
        stage = stages[code]
        parts = stage.get("skills", []) if stage["open_since"] else []
        return Rung(
            code=code,
            name=names.stage(code),
            state=stage["state"],
            said=stage_state(names, stage),
            here=code == shown,
            parts=tuple(rung(part["stage"]) for part in parts),
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
        levels.append([[each for each in chain if each not in shared] for chain in chains])
        code = next((each for each in chains[0] if each in shared), None)
    drawn = [each for level in levels for track in level for each in track]
    if sorted(drawn) != sorted(by_code):
        return [[[stage.code for stage in reversed(stages)]]]
    return levels


def _chain(code: str, by_code: Mapping[str, Stage]) -> list[str]:
    """A stage and those below it, as long as each rests on one."""
    found = [code]
    while len(by_code[found[-1]].needs) == 1:
        found.append(by_code[found[-1]].needs[0])
    return found


def hand_contact_sentences(reading: Reading) -> list[str]:
    """What is said of the child's landings on the hands."""
    days = landings(reading.record.tallies, reading.ladder.engine.drills)
    return landing_sentences(names_of(reading), hand_contacts(days, reading.read.day))


def stage_for_review(reading: Reading) -> str:
    """The code of the highest stage that waits for people; empty if none does."""
    codes = [s["code"] for s in all_stages(reading.data) if s["state"] == FOR_REVIEW]
    return codes[-1] if codes else ""


# --- one stage -----------------------------------------------------------------------


@dataclass(frozen=True)
class Drawn:
    """A chart with the words that stand below it; ``line``: what its level line is."""

    chart: Chart
    first: str
    last: str
    line: str


@dataclass(frozen=True)
class GateRow:
    """One gate with its words; share and need are for the beam."""

    title: str
    sentence: str
    stale: str
    met: bool
    sign: str
    share: float
    need: float
    is_clean: bool
    chart: Drawn | None


@dataclass(frozen=True)
class StagePanel:
    code: str
    name: str
    state: str
    score: int
    sign_off: bool
    is_open: bool
    surface: str
    notes: list[str]
    causes: list[str]
    brings_back: list[str]
    gates: list[GateRow]

    @property
    def focus(self) -> GateRow | None:
        """The gate whose chart is drawn large: the one furthest from met, if the stage waits
        for it; else the first clean one."""
        drawn = [gate for gate in self.gates if gate.chart]
        unmet = [gate for gate in drawn if not gate.met]
        if unmet and not self.is_open:
            return min(unmet, key=lambda gate: gate.share / gate.need)
        return next((gate for gate in drawn if gate.is_clean), drawn[0] if drawn else None)


def stage_panel(reading: Reading, code: str) -> StagePanel:
    """A stage in detail: its gates with their sentences and charts."""
    names, data = names_of(reading), stage_of(reading.data, code)
    found = reading.read.stage(code)
    coming = class_days(reading.child, reading.read.day)
    return StagePanel(
        code=code,
        name=names.stage(code),
        state=data["state"],
        score=data["score"],
        sign_off=found.stage.sign_off,
        is_open=found.opening is not None,
        surface=names.surface(found.surface) if found.surface else "",
        notes=stage_notes(names, data),
        causes=re_check_causes(names, data),
        brings_back=brings_back(names, data, reading.data),
        gates=[
            _gate_row(reading, found, gate, plain, coming)
            for gate, plain in zip(found.gates, data["gates"], strict=True)
        ],
    )


def class_days(child: Child, today: datetime.date) -> list[datetime.date]:
    """Today and the child's next class days, as many as a forecast may count on."""
    weekdays = child.classes.values_list("weekday", flat=True)
    return coming_days(weekdays, today, MOST_DAYS_AHEAD)


def _gate_row(
    reading: Reading,
    stage: StageReading,
    gate: GateReading,
    data: Mapping[str, Any],
    coming: Sequence[datetime.date],
) -> GateRow:
    names, entered = names_of(reading), stage.opening is not None
    forecast = NO_FORECAST if entered else _forecast(reading, gate, stage.surface, coming)
    is_clean = data["kind"] == "clean"
    return GateRow(
        title=gate_title(names, data),
        sentence=gate_sentence(names, data, forecast, entered),
        stale=gate_stale(names, data),
        met=gate.met,
        sign="open" if gate.met else "closed",
        share=data["value"] if is_clean else data["progress"],
        need=data["need"] if is_clean else 1,
        is_clean=is_clean,
        chart=_drawn(reading, gate, stage.surface, gate_chart_line(names, data)),
    )


def _drawn(reading: Reading, gate: GateReading, surface: str | None, line: str) -> Drawn | None:
    names, day = names_of(reading), reading.read.day
    chart = chart_of(gate.gate, reading.evidence, day, reading.ladder.engine, surface)
    if chart is None:
        return None
    return Drawn(chart, names.date(chart.first), names.date(chart.last), line)


def _forecast(
    reading: Reading, gate: GateReading, surface: str | None, coming: Sequence[datetime.date]
) -> Forecast:
    """The clean turns that would open a clean gate, over today and the next class days."""
    if gate.met or not isinstance(gate.gate, CleanGate):
        return NO_FORECAST
    ladder, day = reading.ladder.engine, reading.read.day
    scope = clean_scope(gate.gate, surface)
    days = reading.evidence.clean_days(gate.gate.drill, ladder, day, scope)
    return clean_turns_to_open(days, day, gate.gate.rule, coming, memory_of(ladder))


# --- support -------------------------------------------------------------------------


@dataclass(frozen=True)
class Allowed:
    """The support on some surfaces; ``amount`` is None where the drill is not for now."""

    where: str
    amount: int | None
    why: list[str]


@dataclass(frozen=True)
class TapButton:
    """The form and the words of a step of less support that waits for a yes."""

    form: StepForm
    label: str


@dataclass(frozen=True)
class BackStep:
    """One step of the way back: its support, and whether it is where the child is now."""

    amount: int
    now: bool


@dataclass(frozen=True)
class SupportRow:
    """A drill with the support it asks for and what brings less. ``shown``: done lately, or on
    the way back; the others are folded away."""

    drill: str
    allowed: list[Allowed]
    steps: list[BackStep]
    next_step: str
    taps: list[TapButton]
    shown: bool


def support_rows(reading: Reading, staff: Staff, given: set[tuple[str, int]]) -> list[SupportRow]:
    """The drills that hands may help with, as far as they are open. ``given``: today's taps."""
    names, data = names_of(reading), cast(dict[str, Any], reading.data)
    backs = {back["drill"]: back for back in data["ways_back"]}
    fallen = {each.drill for each in reading.read.support if each.allowed.falls}
    rows = []
    for key, entries in groupby(data["support"], key=lambda each: each["drill"]):
        on_surfaces = list(entries)
        drill = reading.ladder.engine.drills[key]
        if all(each["causes"] == ["closed"] for each in on_surfaces):
            continue
        if not drill.taught_by_hand and all(not each["causes"] for each in on_surfaces):
            continue
        # A fall of today starts the way back anew: what was walked of it says nothing now.
        back = None if key in fallen else backs.get(key)
        next_step = way_back_sentence(back) if back else ""
        if key in fallen and any(each["causes"] for each in on_surfaces):
            next_step = way_back_waits()
        rows.append(
            SupportRow(
                drill=names.drill(key),
                allowed=_allowed(on_surfaces, names),
                steps=_back_steps(back) if back else [],
                next_step=next_step,
                taps=[
                    TapButton(
                        _tap_form(reading, tap),
                        give_support_label(names, key, tap.support, tap.again),
                    )
                    for tap in _open_taps(reading.read.taps, key, staff, given)
                ],
                shown=back is not None or _done_lately(reading, key),
            )
        )
    return rows


def _done_lately(reading: Reading, drill: str) -> bool:
    day = reading.read.day
    days = reading.evidence.days(drill, day)
    return bool(days) and (day - days[-1]).days <= LATELY_DAYS


def _allowed(on_surfaces: Sequence[Mapping[str, Any]], names: Names) -> list[Allowed]:
    """Surfaces side by side with the same answer are said once."""
    found = []
    groups = [
        list(group)
        for _answer, group in groupby(
            on_surfaces, key=lambda each: (each["allowed"], each["causes"])
        )
    ]
    for group in groups:
        allowed = group[0]["allowed"]
        where = ""
        if len(groups) > 1:
            where = names.surfaces([each["surface"] for each in group])
        found.append(
            Allowed(
                where=where,
                amount=int(SUPPORT_BY_CODE[allowed]) if allowed else None,
                why=support_reasons(names, group[0]["causes"]),
            )
        )
    return found


def _back_steps(back: Mapping[str, Any]) -> list[BackStep]:
    """From where the child is down to the goal; none if no support is left to give less of."""
    level, goal = SUPPORT_BY_CODE[back["level"]], SUPPORT_BY_CODE[back["goal"]]
    if level <= goal:
        return []
    return [BackStep(amount, amount == level) for amount in range(level, goal - 1, -1)]


def _open_taps(
    taps: Iterable[Tap], drill: str, staff: Staff, given: set[tuple[str, int]]
) -> Iterator[Tap]:
    for tap in taps:
        if tap.drill == drill and may_tap(staff, tap) and (tap.drill, tap.support) not in given:
            yield tap


def _tap_form(reading: Reading, tap: Tap) -> StepForm:
    seen = seen_stage(reading, tap.stage)
    return StepForm(
        auto_id=f"step-{tap.drill}-{int(tap.support)}-%s",
        initial={
            "drill": tap.drill,
            "support": int(tap.support),
            "digest": seen.digest,
            "last": seen.last,
        },
    )


def taps_given_on(child: Child, day: datetime.date) -> set[tuple[str, int]]:
    """The steps given on a day; they count from the next one."""
    given = Decision.objects.filter(child=child, kind=Decision.Kind.STEP, day=day)
    return {
        (drill, support)
        for drill, support in given.values_list("drill__key", "support")
        if drill is not None and support is not None
    }


# --- faults, turns, notes ------------------------------------------------------------


@dataclass(frozen=True)
class FaultRow:
    sees: str
    leads_to: str
    root: str
    stop: bool
    count: int
    last: datetime.date
    drills: str
    mend: list[str]


def fault_rows(reading: Reading) -> list[FaultRow]:
    """The faults of the last eight weeks, the most frequent first, with what mends them."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    tallies = FaultTally.objects.filter(child=reading.child, day__gte=since)
    count: Counter[str] = Counter()
    last: dict[str, datetime.date] = {}
    drills: dict[str, set[str]] = defaultdict(set)
    for fault, drill, day, times in tallies.values_list("fault", "drill__key", "day", "count"):
        count[fault] += times
        last[fault] = max(day, last.get(fault, day))
        drills[fault].add(drill)
    names, ladder = names_of(reading), reading.ladder
    return [
        FaultRow(
            sees=ladder.faults[key]["sees"],
            leads_to=ladder.faults[key]["leads_to"],
            root=ladder.strand_names[ladder.faults[key]["root"]],
            stop=ladder.faults[key]["stop"] == "yes",
            count=times,
            last=last[key],
            drills=", ".join(names.drill(drill) for drill in sorted(drills[key])),
            mend=[mending_text(names, mend) for mend in ladder.faults[key]["mend"]],
        )
        for key, times in sorted(count.items(), key=lambda each: (-each[1], each[0]))
        if key in ladder.faults
    ]


@dataclass(frozen=True)
class TurnRow:
    day: datetime.date
    at: datetime.datetime
    drill: str
    surface: str
    support: int | None
    outcome: str
    clean: bool | None
    faults: list[str]
    by: str
    graded: bool
    note: str
    flags: list[str]
    struck: str


def recent_turns(reading: Reading) -> list[TurnRow]:
    """The last few turns, newest first; a struck one stays readable, with who and why."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    attempts = list(
        Attempt.objects.filter(child=reading.child, day__gte=since)
        .select_related("drill", "surface", "author")
        .order_by("-day", "-done_at", "-pk")[:TURNS_SHOWN]
    )
    strikes = {
        strike.attempt_id: strike
        for strike in Strike.objects.filter(
            attempt_id__in=[attempt.pk for attempt in attempts]
        ).select_related("by")
    }
    names = names_of(reading)
    return [_turn_row(attempt, strikes.get(attempt.pk), names) for attempt in attempts]


def _turn_row(attempt: Attempt, strike: Strike | None, names: Names) -> TurnRow:
    ladder = names.ladder
    drill = ladder.drills.get(attempt.drill.key, {})
    return TurnRow(
        day=attempt.day,
        at=attempt.done_at,
        drill=names.drill(attempt.drill.key),
        surface=names.surface(attempt.surface.key),
        support=attempt.support if drill.get("support_logged") else None,
        outcome=outcome_text(
            names, attempt.drill.key, attempt.clean, attempt.value, attempt.caught
        ),
        clean=attempt.clean,
        faults=[ladder.faults[key]["sees"] for key in attempt.faults if key in ladder.faults],
        by=attempt.author.called,
        graded=attempt.graded,
        note=attempt.note,
        flags=[flag_text(flag) for flag in attempt.flags],
        struck=strike_text(strike.by.called, strike.code) if strike else "",
    )


@dataclass(frozen=True)
class Note:
    """Something that people decided or told."""

    at: datetime.datetime
    day: datetime.date
    said: str
    reason: str
    by: str


def notes_of(reading: Reading) -> list[Note]:
    """The latest of what people decided and told about the child, newest first."""
    child, names = reading.child, names_of(reading)
    notes = [
        Note(
            each.at,
            each.day,
            decision_text(names, decision_data(each)),
            each.reason,
            each.by.called,
        )
        for each in Decision.objects.filter(child=child)
        .select_related("by", "drill", "surface")
        .order_by("-at", "-pk")[:NOTES_SHOWN]
    ]
    for placing in Placing.objects.filter(child=child).select_related("by", "surface"):
        said = placing_text(names, str(placing.stage), placing.surface.key)
        notes.append(Note(placing.at, placing.day, said, placing.reason, placing.by.called))
    for pause in Pause.objects.filter(child=child).select_related("by"):
        notes.append(Note(pause.at, pause.day, _("Paused"), pause.reason, pause.by.called))
    for lift in PauseLift.objects.filter(child=child).select_related("by"):
        notes.append(Note(lift.at, lift.day, _("Pause lifted"), lift.reason, lift.by.called))
    for pain in Pain.objects.filter(child=child).select_related("by").order_by("-at")[:NOTES_SHOWN]:
        notes.append(Note(pain.at, pain.day, pain_text(names, pain.place), "", pain.by.called))
    return sorted(notes, key=lambda note: note.at, reverse=True)[:NOTES_SHOWN]


def why_paused(reading: Reading) -> str:
    """What somebody wrote when they paused the child; else what hurt; empty if not paused."""
    since = reading.read.state.paused_since
    if since is None:
        return ""
    pause = Pause.objects.filter(child=reading.child, day__gte=since).order_by("-at", "-pk").first()
    if pause is not None:
        return pause.reason
    pain = Pain.objects.filter(child=reading.child).order_by("-at", "-pk").first()
    return pain_text(names_of(reading), pain.place) if pain is not None else ""


def hurts_today(reading: Reading) -> str:
    """What was told to hurt today, with what comes of it; empty if nothing was."""
    day = reading.read.day
    told = [place for then, place in reading.read.state.pains if then == day]
    return pain_today_sentence(names_of(reading), told)


def standing_now(reading: Reading) -> dict[str, object]:
    """What holds the whole child, whatever the stage: a pause, or what hurts today."""
    since = reading.read.state.paused_since
    return {
        "paused_since": since,
        "why_paused": why_paused(reading),
        "lifted": lift_under_way(reading),
        "hurts_today": "" if since else hurts_today(reading),
    }


def decision_data(decision: Decision) -> dict[str, Any]:
    """The codes that a decision's sentence names."""
    return {
        "kind": decision.kind,
        "stage": decision.stage,
        "drill": decision.drill.key if decision.drill else None,
        "support": decision.support,
        "surface": decision.surface.key if decision.surface else None,
    }


def stages_to_place(reading: Reading, highest: int) -> list[tuple[str, str]]:
    """The stages a director may place this child at: closed, not signed, not too high."""
    return [
        (str(stage.number), _numbered(reading.ladder, stage))
        for stage in reading.ladder.engine.stages
        if stage.part_of is None
        and not stage.sign_off
        and stage.number <= highest
        and stage.code not in reading.read.state.opened
    ]


def _numbered(ladder: NamedLadder, stage: Stage) -> str:
    return f"{stage.number} · {ladder.stage_names[stage.code]}"


def surface_choices(
    ladder: NamedLadder, keys: Iterable[str] | None = None
) -> list[tuple[str, str]]:
    """Surfaces to choose from, easiest first; all of them if none are named."""
    wanted = set(ladder.surface_names if keys is None else keys)
    return [(key, name) for key, name in ladder.surface_names.items() if key in wanted]
