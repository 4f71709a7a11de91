"""One stage in detail: its gates with their sentences, forecasts and charts.

Shared: used by the child's page and the evidence page.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.child.charts import Chart, chart_of
from readiness.child.lookup import names_of
from readiness.engine.clean_rate import MOST_DAYS_AHEAD
from readiness.engine.gates import CleanGate, GateReading, Record
from readiness.engine.reading import StageReading
from readiness.record.standings import Reading
from readiness.words.gates import (
    NO_FORECAST,
    Forecast,
    gate_chart_line,
    gate_sentence,
    gate_stale,
    gate_title,
)
from readiness.words.re_check import brings_back, re_check_causes
from readiness.words.stages import stage_notes
from studio.models import Child
from studio.people.class_dates import coming_days
from studio.people.class_lists import classes_of


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

    drill: str
    title: str
    sentence: str
    stale: str
    met: bool
    sign: str
    share: float
    need: float
    is_clean: bool
    # Of a clean gate: the turns of its last days; older ones count a little still.
    turns: int
    days: int
    chart: Drawn | None


@dataclass(frozen=True)
class StagePanel:
    code: str
    name: str
    state: str
    score: int | None
    sign_off: bool
    is_open: bool
    sent_back: bool
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
    names, stage = names_of(reading), reading.read.stage(code)
    coming = class_days(reading.child, reading.read.day)
    return StagePanel(
        code=code,
        name=names.stage(code),
        state=stage.state,
        score=stage.score,
        sign_off=stage.stage.sign_off,
        is_open=stage.opening is not None,
        sent_back=stage.sent_back,
        surface=names.surface(stage.surface) if stage.surface else "",
        notes=stage_notes(names, stage),
        causes=re_check_causes(names, stage),
        brings_back=brings_back(names, stage, reading.read, reading.given_today),
        gates=[_gate_row(reading, stage, gate, coming) for gate in stage.gates],
    )


def class_days(child: Child, today: datetime.date) -> list[datetime.date]:
    """Today and the child's next class days, as many as a forecast may count on."""
    return coming_days(classes_of([child])[child.pk], today, MOST_DAYS_AHEAD)


def _gate_row(
    reading: Reading,
    stage: StageReading,
    gate: GateReading,
    coming: Sequence[datetime.date],
) -> GateRow:
    names, entered = names_of(reading), stage.opening is not None
    shows_forecast = not entered and not reading.read.is_held
    forecast = _forecast(reading, gate, stage.surface, coming) if shows_forecast else NO_FORECAST
    is_clean = isinstance(gate.gate, CleanGate)
    return GateRow(
        drill=gate.gate.drill,
        title=gate_title(names, gate.gate, gate.need),
        sentence=gate_sentence(names, gate, forecast, entered),
        stale=gate_stale(names, gate),
        met=gate.met,
        sign="open" if gate.met else "closed",
        share=gate.value if is_clean else gate.progress,
        need=gate.need if is_clean else 1,
        is_clean=is_clean,
        turns=int(gate.parts.get("turns", 0)),
        days=gate.gate.looks_back,
        chart=_drawn(reading, gate, stage.surface, gate_chart_line(names, gate)),
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
    day = reading.read.day
    record = Record(reading.evidence, reading.ladder.engine, day, day, surface)
    return gate.gate.turns_to_open(record, coming)
