"""Reading one gate on one day."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from readiness.engine.clean_rate import Decay, read_clean
from readiness.engine.evidence import ANY, Evidence, Scope, counts
from readiness.engine.ladder import (
    CleanGate,
    ClearGate,
    CountGate,
    FirstTurnGate,
    Gate,
    Ladder,
    ReachGate,
    SeenByTwoGate,
)

UNMET_MOST = 0.99
# Two graders, each with this many graded clean turns in one class, need no second day.
SEEN_IN_ONE_CLASS = 3


@dataclass(frozen=True)
class GateReading:
    """One gate on a day.

    progress: 0 to 1, 1 if and only if met. value, need: what was reached and what is asked,
    in the gate's own unit (sureness 0 to 1, seconds, reps, grade, turns, graders).
    stale_on: the first day on which, with nothing more, it is not met; None if it never
    falls, or is not met now. parts: further numbers for the sentence, by name.
    """

    gate: Gate
    met: bool
    progress: float
    value: float
    need: float
    stale_on: datetime.date | None = None
    parts: Mapping[str, float] = field(default_factory=dict)
    days: tuple[datetime.date, ...] = ()


def read_gate(
    gate: Gate,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    surface: str | None = None,
) -> GateReading:
    """Read a gate at the end of ``day``, for ``surface`` where the gate asks for one."""
    reading = read_for_entry(gate, evidence, day, ladder, surface)
    if not reading.met:
        return reading

    def met_on(later: datetime.date) -> bool:
        return read_for_entry(gate, evidence, later, ladder, surface, until=day).met

    return replace(reading, stale_on=_first_unmet(met_on, day, _longest(gate)))


def read_for_entry(
    gate: Gate,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    surface: str | None = None,
    until: datetime.date | None = None,
) -> GateReading:
    """The reading without its stale day. ``until``: use turns up to that day only."""
    until = until or day
    match gate:
        case CleanGate():
            return _clean(gate, evidence, day, until, ladder, surface)
        case ReachGate():
            return _reach(gate, evidence, day, until)
        case ClearGate():
            return _clear(gate, evidence, day, until, ladder)
        case CountGate():
            return _count(gate, evidence, day, until, ladder)
        case SeenByTwoGate():
            return _seen_by_two(gate, evidence, day, until, ladder, surface)
        case FirstTurnGate():
            return _first_turn(gate, evidence, day, until, ladder, surface)
    raise TypeError(f"not a gate: {gate!r}")


def clean_scope(gate: CleanGate, surface: str | None) -> Scope:
    """Which turns a clean gate counts."""
    return Scope(gate.support, surface if gate.signed_surface else None, gate.graded)


def decay_of(ladder: Ladder, days: float | None = None) -> Decay:
    """The ladder's memory; ``days`` replaces the memory in own days."""
    own_days = ladder.memory_days if days is None else days
    return Decay(own_days, ladder.memory_time, ladder.day_correlation)


def _within(day: datetime.date, then: datetime.date, days: int) -> bool:
    """``then`` lies in the last ``days`` days; exactly ``days`` ago still counts."""
    return 0 <= (day - then).days <= days


def _clean(
    gate: CleanGate,
    evidence: Evidence,
    day: datetime.date,
    until: datetime.date,
    ladder: Ladder,
    surface: str | None,
) -> GateReading:
    scope = clean_scope(gate, surface)
    days = evidence.clean_days(gate.drill, ladder, until, scope)
    before = evidence.decayed_before(gate.drill, scope)
    read = read_clean(days, day, gate.rule, decay_of(ladder), before)
    parts = {
        "rate": gate.rule.rate,
        "days": read.clean_days,
        "days_need": gate.rule.days,
        "clean": read.clean_turns,
        "clean_need": gate.rule.clean,
        "age": (day - read.newest).days if read.newest else -1,
        "fresh": gate.rule.fresh,
    }
    return GateReading(
        gate, read.met, read.progress, read.sureness, gate.rule.certainty, parts=parts
    )


def _reach(
    gate: ReachGate, evidence: Evidence, day: datetime.date, until: datetime.date
) -> GateReading:
    first = day - datetime.timedelta(days=gate.within)
    in_window = evidence.days(gate.drill, until, first)
    values = {d: day_value(gate, evidence, d) for d in in_window}
    ranked = sorted(values.values(), reverse=True)
    nth = ranked[gate.days - 1] if len(ranked) >= gate.days else 0.0
    met = nth >= gate.at_least
    progress = 1.0 if met else min(UNMET_MOST, nth / gate.at_least)
    reached = tuple(d for d, value in values.items() if value >= gate.at_least)
    parts = {"days": len(reached), "days_need": gate.days, "best": ranked[0] if ranked else 0.0}
    return GateReading(gate, met, progress, nth, gate.at_least, parts=parts, days=reached)


def day_value(gate: ReachGate, evidence: Evidence, day: datetime.date) -> float:
    """The day's best; of a grade the day's second-best graded turn, 0 with fewer than two."""
    tallies = evidence.on(gate.drill, day)
    if not gate.graded:
        return max((t.best for t in tallies if t.best is not None), default=0.0)
    tops = [top for t in tallies for top in (t.best_graded, t.second_graded) if top is not None]
    return sorted(tops, reverse=True)[1] if len(tops) > 1 else 0.0


def _clear(
    gate: ClearGate, evidence: Evidence, day: datetime.date, until: datetime.date, ladder: Ladder
) -> GateReading:
    last, clean = evidence.clean_since_stop(gate.drill, ladder, until)
    if last is None:
        return GateReading(gate, True, 1.0, gate.clean, gate.clean, parts={"none_ever": 1})
    since = (day - last).days
    share = min(clean / gate.clean, since / gate.days)
    met = share >= 1
    parts = {"since": since, "days_need": gate.days, "none_ever": 0}
    progress = 1.0 if met else min(UNMET_MOST, share)
    return GateReading(gate, met, progress, clean, gate.clean, parts=parts, days=(last,))


def _count(
    gate: CountGate, evidence: Evidence, day: datetime.date, until: datetime.date, ladder: Ladder
) -> GateReading:
    series = evidence.clean_days(gate.drill, ladder, until, ANY)
    clean = sum(k for d, _, k in series if _within(day, d, gate.within))
    met = clean >= gate.clean
    progress = 1.0 if met else min(UNMET_MOST, clean / gate.clean)
    return GateReading(gate, met, progress, clean, gate.clean)


def _seen_by_two(
    gate: SeenByTwoGate,
    evidence: Evidence,
    day: datetime.date,
    until: datetime.date,
    ladder: Ladder,
    surface: str | None,
) -> GateReading:
    scope = Scope(gate.support, surface if gate.signed_surface else None)
    by_grader: dict[int, Counter[datetime.date]] = defaultdict(Counter)
    for d in evidence.days(gate.drill, until):
        for tally in evidence.on(gate.drill, d):
            if tally.graded_clean and _within(day, d, gate.within) and counts(tally, ladder, scope):
                by_grader[tally.author][d] += tally.graded_clean
    met = any(
        _two_saw(by_grader[one], by_grader[other])
        for one in by_grader
        for other in by_grader
        if one < other
    )
    progress = 1.0 if met else min(UNMET_MOST, len(by_grader) / 2)
    days = tuple(sorted({d for clean_by_day in by_grader.values() for d in clean_by_day}))
    return GateReading(gate, met, progress, len(by_grader), 2, days=days)


def _two_saw(one: Counter[datetime.date], other: Counter[datetime.date]) -> bool:
    if len(set(one) | set(other)) >= 2:
        return True
    return any(min(one[d], other[d]) >= SEEN_IN_ONE_CLASS for d in one)


def _first_turn(
    gate: FirstTurnGate,
    evidence: Evidence,
    day: datetime.date,
    until: datetime.date,
    ladder: Ladder,
    surface: str | None,
) -> GateReading:
    days = [d for d in evidence.days(gate.drill, until) if _within(day, d, gate.within)]
    first = evidence.first_turn(gate.drill, days[-1]) if days else None
    scope = Scope(gate.support, surface if gate.signed_surface else None)
    met = (
        first is not None
        and first.first_clean is True
        and first.first_graded
        and counts(first, ladder, scope)
    )
    return GateReading(gate, met, float(met), float(met), 1, days=tuple(days[-1:]))


def _longest(gate: Gate) -> int | None:
    """After how many days with nothing more the gate is surely unmet; None: never."""
    match gate:
        case CleanGate():
            return gate.rule.fresh + 1
        case ReachGate() | CountGate() | SeenByTwoGate() | FirstTurnGate():
            return gate.within + 1
    return None


def _first_unmet(
    met_on: Callable[[datetime.date], bool], day: datetime.date, longest: int | None
) -> datetime.date | None:
    """Bisection: waiting never opens a gate, so once unmet it stays unmet."""
    if longest is None:
        return None
    low, high = 1, longest
    while low < high:
        middle = (low + high) // 2
        if met_on(day + datetime.timedelta(days=middle)):
            low = middle + 1
        else:
            high = middle
    return day + datetime.timedelta(days=low)
