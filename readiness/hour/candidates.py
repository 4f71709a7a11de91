"""Whom an evidence hour could help: who lacks only turns, and what six more would probably decide.

For the planner alone: a grader is shown nothing of this.
"""

import datetime
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Max

from readiness.engine.gates import CleanGate, GateReading, SeenByTwoGate
from readiness.engine.gates.common import Record
from readiness.engine.levels import Support
from readiness.engine.reading import CLOSED, RE_CHECK, StageReading
from readiness.engine.reading_json import from_json
from readiness.hour.words import (
    NO_LESS_SUPPORT,
    NOTHING_TO_SEE,
    PLANNED,
    SORE,
    stopped_text,
)
from readiness.models import DayTally, HourChild
from readiness.record.ladders import Ladders
from readiness.record.standings import Reading, StandingRow, fresh_standings, read_many
from readiness.words.gates import gate_title
from readiness.words.names import Names
from studio.models import Child
from studio.people.records import records_of, root_of
from studio.templatetags.marks import percent

# Turns of a child in an hour, and children: practice, no source.
TURNS, MOST_CHILDREN = 6, 4
# So many days after a stop sign a child is left in peace.
AFTER_STOP = datetime.timedelta(days=14)


@dataclass(frozen=True)
class Candidate:
    """A child who lacks only turns. ``chance``: that the turns meet the clean gate, None where
    only a second grader is missing; others: what is missing besides; why_not: why this child is
    left out, or empty."""

    child: Child
    stage: str
    title: str
    drill: str
    surface: str
    support: int
    chance: float | None
    others: tuple[str, ...]
    why_not: str

    @property
    def is_enough(self) -> bool:
        """The turns of an hour may meet the gate, as far as whole percents say."""
        return self.chance is None or percent(self.chance) > 0


def candidates(
    children: Sequence[Child], now: datetime.datetime, on: datetime.date
) -> list[Candidate]:
    """Those who could be taken first, by chance, at the end those whom an hour would not be enough;
    then those who are left out, each with why."""
    ladders = Ladders()
    standings = fresh_standings(children, now, ladders)
    few = [child for child in children if _lacks_only_turns(standings[child.pk], ladders)]
    if not few:
        return []
    readings = read_many(few, standings[few[0].pk].read_on, ladders)
    stops, taken = _last_stops(few, on), planned(few, on)
    found = [
        _candidate(
            reading,
            reading.read.stage(standings[reading.child.pk].facts.stage),
            on,
            stops.get(reading.child.pk),
            reading.child.pk in taken,
        )
        for reading in readings
    ]
    found.sort(key=lambda each: -(each.chance or 0))
    return sorted(found, key=lambda each: (bool(each.why_not), not each.is_enough))


def _lacks_only_turns(standing: StandingRow, ladders: Ladders) -> bool:
    """Of the stage that matters most now: a child on re-check, paused or on the way back after a
    head knock has another one."""
    if standing.facts.state != CLOSED:
        return False
    reading = from_json(json.loads(standing.facts.listed), ladders.on(standing.read_on))
    return reading.stage(standing.facts.stage).lacks_only_turns


def _candidate(
    reading: Reading,
    stage: StageReading,
    on: datetime.date,
    stopped: datetime.date | None,
    is_planned: bool,
) -> Candidate:
    names = Names(reading.child.called, reading.ladder, reading.read.day)
    unmet = [gate for gate in stage.gates if not gate.met]
    shown = _gate_to_serve(unmet)
    gate = shown.gate
    surface = stage.surface or _surface_of(reading, gate.drill)
    support = gate.support if isinstance(gate, CleanGate | SeenByTwoGate) else Support.HANDS_ON
    return Candidate(
        child=reading.child,
        stage=names.stage(stage.stage.code),
        title=gate_title(names, gate, shown.need),
        drill=gate.drill,
        surface=surface,
        support=int(support),
        chance=_chance(reading, gate, on, surface) if isinstance(gate, CleanGate) else None,
        others=tuple(gate_title(names, g.gate, g.need) for g in unmet if g is not shown),
        why_not=_why_not(reading, shown, surface, int(support), stopped, is_planned),
    )


def _gate_to_serve(unmet: Sequence[GateReading]) -> GateReading:
    """The clean gate that has furthest to go; else one that asks for a second grader."""
    clean = [each for each in unmet if isinstance(each.gate, CleanGate)]
    seen = [each for each in unmet if isinstance(each.gate, SeenByTwoGate)]
    return min(clean or seen or unmet, key=lambda each: each.progress)


def _surface_of(reading: Reading, drill: str) -> str:
    """The hardest on which the child does it: its turns count for the easier ones too."""
    ladder = reading.ladder.engine
    used = reading.evidence.surfaces(drill, reading.read.day)
    return max(used or {next(iter(ladder.surfaces))}, key=ladder.rank)


def _chance(reading: Reading, gate: CleanGate, on: datetime.date, surface: str) -> float:
    record = Record(reading.evidence, reading.ladder.engine, on, on)
    return gate.chance(record._replace(surface=surface), TURNS)


def _why_not(
    reading: Reading,
    shown: GateReading,
    surface: str,
    support: int,
    stopped: datetime.date | None,
    is_planned: bool,
) -> str:
    if is_planned:
        return str(PLANNED)
    if _hurts(reading):
        return str(SORE)
    if stopped is not None:
        return stopped_text(stopped)
    if not isinstance(shown.gate, CleanGate | SeenByTwoGate):
        return str(NOTHING_TO_SEE)
    held = reading.ladder.engine.drills[shown.gate.drill].support_logged
    if held and reading.read.allowed(shown.gate.drill, surface).amount > support:
        return str(NO_LESS_SUPPORT)
    return ""


def _hurts(reading: Reading) -> bool:
    """Something hurts today, or nobody has said yet that it is gone."""
    state, day = reading.read.state, reading.read.day
    return bool(state.sore) or any(hurt_on == day for hurt_on, _place in state.pains)


def left_in_peace(children: Sequence[Child], day: datetime.date) -> set[int]:
    """Who is asked for no turns of an hour that day, whatever was planned: on re-check, paused,
    something hurts, or a stop sign within 14 days."""
    stops = _last_stops(children, day)
    return {
        reading.child.pk
        for reading in read_many(children, day, Ladders())
        if reading.read.is_held
        or any(stage.state == RE_CHECK for stage in reading.read.stages)
        or _hurts(reading)
        or reading.child.pk in stops
    }


def _last_stops(children: Iterable[Child], on: datetime.date) -> Mapping[int, datetime.date]:
    """By child the last day with a stop sign, at whatever drill, of the 14 days before ``on``."""
    records = list(records_of([child.pk for child in children]))
    rows = DayTally.objects.filter(child__in=records, stop_signs__gt=0, day__gte=on - AFTER_STOP)
    return dict(rows.values_list(root_of("child")).annotate(Max("day")))


def planned(children: Iterable[Child], on: datetime.date) -> set[int]:
    """Who has an hour on that day or later."""
    records = list(records_of([child.pk for child in children]))
    rows = HourChild.objects.filter(child__in=records, meeting__date__gte=on)
    return set(rows.values_list(root_of("child"), flat=True))
