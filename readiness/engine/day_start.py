"""The record before a day summed up, for a tablet that reads on by itself during the day.

Shared: used by the floor's pack. Plain data, and little of it: the turns of earlier days are
summed up as the day's own turns will need them. ``gate_now.js`` and ``support_now.js`` under
static/floor/ add the day's turns to it, by the rules of gates.py and support.py. Surfaces are
given as ranks, easiest first.
"""

import datetime
from collections.abc import Callable, Sequence
from typing import Any

from readiness.engine.clean_rate import DayTurns, Decay, DecayedCounts, pseudo_counts
from readiness.engine.evidence import ANY, Evidence, Scope, counts
from readiness.engine.gates import clean_scope, day_value, decay_of
from readiness.engine.ladder import (
    CleanGate,
    CountGate,
    Drill,
    FirstTurnGate,
    Gate,
    Ladder,
    ReachGate,
    SeenByTwoGate,
    Support,
)
from readiness.engine.reading import StageReading, asks_surface
from readiness.engine.replay.state import ChildState
from readiness.engine.support import (
    Watch,
    allowed_at_start,
    first_turn_support,
    lately_asks,
    open_stages,
    skills_behind,
    watched_before,
    watched_days,
    watches,
)
from readiness.engine.tallies import Tally

Data = dict[str, Any]
NumberOf = Callable[[int], int]
# Sums of weights: this is far under what could show in the sixth decimal of sureness.
DECIMALS = 9


# --- rules, the same for every child -------------------------------------------------


def rules(ladder: Ladder) -> Data:
    """What the ladder asks of turns: decay, stop signs, gates, the skills behind others."""
    drills = ladder.drills.values()
    behind = {drill.key: [skill.key for skill in skills_behind(drill, ladder)] for drill in drills}
    return {
        "memory": {
            "days": ladder.memory_days,
            "lately": ladder.lately_days,
            "time": ladder.memory_time,
            "correlation": ladder.day_correlation,
        },
        "stops": {fault: kind for fault, kind in ladder.stops.items() if kind != "no"},
        "behind": {key: skills for key, skills in behind.items() if skills},
        "gates": {
            gate.code: rule
            for stage in ladder.stages
            for gate in stage.gates
            if (rule := _rule(gate)) is not None
        },
        "loads": {drill.key: sorted(drill.loads) for drill in drills if drill.loads},
        "bars": {place: sorted(pain.bars) for place, pain in ladder.pains.items() if pain.bars},
    }


def _rule(gate: Gate) -> Data | None:
    """One gate as the tablet reads it; None for one that it does not read."""
    named = {"kind": gate.kind, "drill": gate.drill}
    match gate:
        case CleanGate(rule=rule):
            limits = {"need": rule.certainty, "days": rule.days, "clean": rule.clean}
            scope = {"support": int(gate.support), "graded": gate.graded}
            return {**named, **scope, "rate": rule.rate, **limits, "fresh": rule.fresh}
        case ReachGate():
            return {**named, "need": gate.at_least, "days": gate.days, "graded": gate.graded}
        case CountGate():
            return {**named, "need": gate.clean}
        case SeenByTwoGate() | FirstTurnGate():
            return {**named, "support": int(gate.support)}
    return None


# --- gates ---------------------------------------------------------------------------


def gate_start(
    gate: Gate,
    stage: StageReading,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    number_of: NumberOf,
) -> Data:
    """What the days before ``day`` give a gate of a stage.

    Before a signature every gate that asks for a surface is given, since the tablet chooses
    the surface as the server does. number_of: a number for each author, to tell them apart.
    """
    opening = stage.opening
    signed_for = opening.surface if opening is not None and stage.stage.sign_off else None
    if not asks_surface(gate) or signed_for is not None:
        surfaces = [signed_for if asks_surface(gate) else None]
        before = _before(gate, surfaces, evidence, day, ladder, number_of)
        return {"code": gate.code, "rank": _rank(surfaces[0], ladder), "before": before}
    asking = [other for other in stage.stage.gates if asks_surface(other)]
    used = sorted(evidence.surfaces(asking[0].drill, _yesterday(day)), key=ladder.rank)
    return {
        "code": gate.code,
        "used": sorted({ladder.rank(surface) for surface in used}),
        "asking": [
            {
                "code": other.code,
                "before": _before(other, used, evidence, day, ladder, number_of),
            }
            for other in asking
        ],
    }


def _before(
    gate: Gate,
    surfaces: Sequence[str | None],
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    number_of: NumberOf,
) -> Any:
    yesterday = _yesterday(day)
    match gate:
        case CleanGate():
            rows = [_clean_row(gate, surface, evidence, day, ladder) for surface in surfaces]
            return [row for row in rows if row is not None]
        case ReachGate():
            first = day - datetime.timedelta(days=gate.within)
            days = evidence.days(gate.drill, yesterday, first)
            values = [day_value(gate, evidence, then) for then in days]
            return sorted(values, reverse=True)[: gate.days]
        case CountGate():
            series = evidence.clean_days(gate.drill, ladder, yesterday, ANY)
            return sum(clean for then, _, clean in series if (day - then).days <= gate.within)
        case SeenByTwoGate():
            return _seen(gate, evidence, day, ladder, number_of)
        case FirstTurnGate():
            return _first(gate, evidence, day, ladder)
    raise TypeError(f"not a gate that a tablet reads: {gate!r}")


def _clean_row(
    gate: CleanGate, surface: str | None, evidence: Evidence, day: datetime.date, ladder: Ladder
) -> list[float | None] | None:
    """Rank, sums of clean and missed turns by weight, clean days, clean turns, and the age of
    the newest clean day, None if there is none; None if no turn counts."""
    scope = clean_scope(gate, surface)
    series = evidence.clean_days(gate.drill, ladder, _yesterday(day), scope)
    before = evidence.decayed_before(gate.drill, scope)
    if not series and before is None:
        return None
    recent = [(then, k) for then, _, k in series if k and (day - then).days <= gate.rule.within]
    newest = (day - recent[-1][0]).days if recent else None
    total = sum(clean for _, clean in recent)
    rank = _rank(surface, ladder)
    return [rank, *_sums(series, day, decay_of(ladder), before), len(recent), total, newest]


def _sums(
    series: Sequence[DayTurns], day: datetime.date, decay: Decay, before: DecayedCounts | None
) -> list[float]:
    a, b = pseudo_counts(series, day, decay, before)
    return [round(a - 1, DECIMALS), round(b - 1, DECIMALS)]


def _seen(
    gate: SeenByTwoGate,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    number_of: NumberOf,
) -> list[list[int]]:
    """Author, age in days, rank and graded clean turns, of each tally that counts."""
    first = day - datetime.timedelta(days=gate.within)
    scope = Scope(gate.support)
    return [
        [number_of(tally.author), (day - then).days, ladder.rank(tally.surface), tally.graded_clean]
        for then in evidence.days(gate.drill, _yesterday(day), first)
        for tally in sorted(evidence.on(gate.drill, then), key=_who_and_how)
        if tally.graded_clean and counts(tally, ladder, scope)
    ]


def _who_and_how(tally: Tally) -> tuple[int, int, str]:
    """In one order, however the tallies came: authors are numbered as they are met."""
    return tally.author, tally.support, tally.surface


def _first(
    gate: FirstTurnGate, evidence: Evidence, day: datetime.date, ladder: Ladder
) -> int | None:
    """The rank of the surface of the latest day's first turn, if it will do; else None."""
    earliest = day - datetime.timedelta(days=gate.within)
    days = evidence.days(gate.drill, _yesterday(day), earliest)
    first = evidence.first_turn(gate.drill, days[-1]) if days else None
    if first is None or not first.first_clean or not first.first_graded:
        return None
    return ladder.rank(first.surface) if counts(first, ladder, Scope(gate.support)) else None


# --- support -------------------------------------------------------------------------


def support_start(
    drill: Drill, state: ChildState, evidence: Evidence, ladder: Ladder
) -> Data | None:
    """The support before the first turn of the state's day, and what may ask for more.

    None where turns change nothing: the drill is closed, or asks for no support.
    """
    starts = {
        surface: allowed_at_start(drill, state, ladder, surface) for surface in ladder.surfaces
    }
    if not drill.allow or all(start.support is None for start in starts.values()):
        return None
    firsts = {s: first_turn_support(drill, state, s, ladder) for s in ladder.surfaces}
    return {
        "allowed": {s: _amount(start.support) for s, start in starts.items()},
        "causes": {s: list(start.causes) for s, start in starts.items() if start.causes},
        "first": {s: int(first) for s, first in firsts.items() if first is not None},
        "asks": int(lately_asks(drill, state, ladder)),
        "stages": list(open_stages(drill, state, ladder)),
        "watch": [
            _watch(watch, state, evidence, ladder) for watch in watches(drill, state, ladder)
        ],
    }


def _watch(watch: Watch, state: ChildState, evidence: Evidence, ladder: Ladder) -> Data:
    days = watched_days(watch, state, evidence, ladder, _yesterday(state.day))
    return {
        "stage": watch.stage,
        "rate": watch.rate,
        "support": int(watch.scope.support),
        "rank": _rank(watch.scope.surface, ladder),
        "graded": watch.scope.graded,
        "sums": _sums(
            days,
            state.day,
            decay_of(ladder, ladder.lately_days),
            watched_before(watch, state, evidence),
        ),
    }


def recent_pain_places(state: ChildState, ladder: Ladder) -> list[str]:
    """Places that hurt on earlier days, so that the same one reported today is a pause."""
    places = {
        place for day, place in state.pains if 0 < (state.day - day).days <= ladder.pain_again_days
    }
    return sorted(places)


def _amount(support: Support | None) -> int | None:
    return None if support is None else int(support)


def _rank(surface: str | None, ladder: Ladder) -> int:
    """Turns count from this rank on; with no surface, all of them."""
    return 0 if surface is None else ladder.rank(surface)


def _yesterday(day: datetime.date) -> datetime.date:
    return day - datetime.timedelta(days=1)
