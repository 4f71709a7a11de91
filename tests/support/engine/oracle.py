"""A slow second engine, written from the rules' words alone, to judge the fast one by.

It knows no tallies and no caches: every gate is read by plain loops over the raw turns.
Only the cumulative Beta comes from elsewhere (scipy.stats), and by another door than the
engine's.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.stats import beta

from readiness.engine.clean_rate import Rule
from readiness.engine.gates import (
    CleanGate,
    ClearGate,
    CountGate,
    FirstTurnGate,
    Gate,
    ReachGate,
    SeenByTwoGate,
)
from readiness.engine.ladder import Ladder
from readiness.engine.tallies import Turn

ONE_DAY = datetime.timedelta(days=1)
# Day, clean or not.
Outcome = tuple[datetime.date, bool]


@dataclass(frozen=True)
class Answer:
    met: bool
    progress: float
    value: float


@dataclass(frozen=True)
class Fading:
    """The ladder's memory, by the words of the rule."""

    own_days: float = 8
    calendar_days: float = 84
    hang_together: float = 0.1


# --- sureness ------------------------------------------------------------------------


def sureness(
    outcomes: Sequence[Outcome], today: datetime.date, rate: float, fading: Fading
) -> float:
    a, b = 1.0, 1.0
    days = sorted({day for day, _ in outcomes if day <= today})
    for day in days:
        own_later_days = len([other for other in days if other > day])
        age = (today - day).days
        turns = [clean for other, clean in outcomes if other == day]
        weight = 0.5 ** (own_later_days / fading.own_days)
        weight *= 0.5 ** (age / fading.calendar_days)
        weight /= 1 + (len(turns) - 1) * fading.hang_together
        for clean in turns:
            if clean:
                a += weight
            else:
                b += weight
    return float(beta.sf(rate, a, b))


def read_rule(
    outcomes: Sequence[Outcome], today: datetime.date, rule: Rule, fading: Fading
) -> Answer:
    sure = round(sureness(outcomes, today, rule.rate, fading), 6)
    clean = [day for day, is_clean in outcomes if is_clean and (today - day).days >= 0]
    recent = [day for day in clean if (today - day).days <= rule.within]
    met = (
        sure >= rule.certainty
        and len(set(recent)) >= rule.days
        and len(recent) >= rule.clean
        and any((today - day).days <= rule.fresh for day in recent)
    )
    nothing = 1 - rule.rate
    shares = [
        (sure - nothing) / (rule.certainty - nothing),
        len(set(recent)) / rule.days,
        len(recent) / rule.clean,
    ]
    return Answer(met, 1.0 if met else max(0.0, min(0.99, *shares)), sure)


def turns_to_open(
    outcomes: Sequence[Outcome],
    today: datetime.date,
    rule: Rule,
    next_days: Sequence[datetime.date],
    fading: Fading,
) -> tuple[int, int] | None:
    """Every number of days, then every number of turns, the smallest first."""
    known = [entry for entry in outcomes if entry[0] <= today]
    if read_rule(known, today, rule, fading).met:
        return 0, 0
    coming = sorted({day for day in next_days if day >= today})[:12]
    for days in range(1, len(coming) + 1):
        for turns in range(15 * days + 1):
            if opens_with(known, rule, coming[:days], turns, fading):
                return turns, days
    return None


def opens_with(
    known: Sequence[Outcome],
    rule: Rule,
    coming: Sequence[datetime.date],
    turns: int,
    fading: Fading,
) -> bool:
    """``turns`` clean turns dealt out one by one over the days, in turn, earlier days first."""
    dealt = [(coming[at % len(coming)], True) for at in range(turns)]
    return read_rule([*known, *dealt], coming[-1], rule, fading).met


# --- turns ---------------------------------------------------------------------------


def stop_signs(turns: Sequence[Turn], ladder: Ladder) -> list[Turn]:
    """Those of the turns, of any drills and days, that are stop signs."""
    result = []
    for turn in turns:
        earlier_or_same = [
            other
            for other in turns
            if (other.drill, other.day) == (turn.drill, turn.day)
            and (other.at, other.id) <= (turn.at, turn.id)
        ]
        signs = [turn.caught]
        for fault in turn.faults:
            kind = ladder.faults[fault].stop
            seen = len([other for other in earlier_or_same if fault in other.faults])
            signs.append(kind == "yes")
            signs.append(kind == "second" and seen >= 2)
            signs.append(kind == "unheld" and turn.support in (0, 1))
        if any(signs):
            result.append(turn)
    return result


def is_no_turn(turn: Turn, ladder: Ladder) -> bool:
    """The child stopped before it began, and nothing else was seen."""
    before = [ladder.faults[fault].before_turn for fault in turn.faults]
    return bool(before) and all(before) and not turn.caught


def counts_for(turn: Turn, support: int, surface: str | None, ladder: Ladder) -> bool:
    if turn.support > support:
        return False
    order = list(ladder.surfaces)
    return surface is None or order.index(turn.surface) >= order.index(surface)


# --- gates ---------------------------------------------------------------------------


def read_gate(
    gate: Gate,
    turns: Sequence[Turn],
    day: datetime.date,
    ladder: Ladder,
    surface: str | None = None,
) -> Answer:
    """Read a gate at the end of ``day``, for a surface if it asks for one."""
    begun = [turn for turn in turns if not is_no_turn(turn, ladder)]
    done = [turn for turn in begun if turn.drill in gate.drills and turn.day <= day]
    if not getattr(gate, "signed_surface", False):
        surface = None
    match gate:
        case CleanGate():
            return _clean(gate, done, day, ladder, surface)
        case ReachGate():
            return _reach(gate, done, day)
        case ClearGate():
            return _clear(gate, done, day, ladder)
        case CountGate():
            recent = [t for t in done if t.clean and (day - t.day).days <= gate.within]
            return _answer(len(recent) >= gate.clean, len(recent) / gate.clean, len(recent))
        case SeenByTwoGate():
            return _seen_by_two(gate, done, day, ladder, surface)
        case FirstTurnGate():
            return _first_turn(gate, done, day, ladder, surface)
    raise TypeError(gate)


def stale_on(
    gate: Gate,
    turns: Sequence[Turn],
    day: datetime.date,
    ladder: Ladder,
    surface: str | None = None,
) -> datetime.date | None:
    """Wait day by day, with nothing more, until the gate is not met; two years at most."""
    done = [turn for turn in turns if turn.day <= day]
    if not read_gate(gate, done, day, ladder, surface).met:
        return None
    for wait in range(1, 800):
        later = day + wait * ONE_DAY
        if not read_gate(gate, done, later, ladder, surface).met:
            return later
    return None


def fading_of(ladder: Ladder) -> Fading:
    return Fading(ladder.memory_days, ladder.memory_time, ladder.day_correlation)


def _answer(met: bool, share: float, value: float) -> Answer:
    return Answer(met, 1.0 if met else min(0.99, share), value)


def _clean(
    gate: CleanGate, done: list[Turn], day: datetime.date, ladder: Ladder, surface: str | None
) -> Answer:
    outcomes = [
        (turn.day, turn.clean is True)
        for turn in done
        if counts_for(turn, gate.support, surface, ladder) and (turn.graded or not gate.graded)
    ]
    return read_rule(outcomes, day, gate.rule, fading_of(ladder))


def _reach(gate: ReachGate, done: list[Turn], day: datetime.date) -> Answer:
    days = sorted({turn.day for turn in done if (day - turn.day).days <= gate.within})
    values = sorted(max(_value(gate, drill, done, each) for drill in gate.drills) for each in days)
    reached = values[-gate.days] if len(values) >= gate.days else 0.0
    return _answer(reached >= gate.at_least, reached / gate.at_least, reached)


def _value(gate: ReachGate, drill: str, done: list[Turn], day: datetime.date) -> float:
    of_day = [t for t in done if (t.day, t.drill) == (day, drill) and t.value is not None]
    if not gate.graded:
        return max((turn.value for turn in of_day), default=0.0)
    graded = sorted(turn.value for turn in of_day if turn.graded)
    return graded[-2] if len(graded) >= 2 else 0.0


def _clear(gate: ClearGate, done: list[Turn], day: datetime.date, ladder: Ladder) -> Answer:
    if gate.needs_turns and not done:
        return Answer(False, 0.0, 0)
    stops = [turn.day for turn in stop_signs(done, ladder)]
    if not stops:
        return Answer(True, 1.0, gate.clean)
    clean = len([turn for turn in done if turn.clean and turn.day > max(stops)])
    since = (day - max(stops)).days
    met = clean >= gate.clean and since >= gate.days
    return _answer(met, min(clean / gate.clean, since / gate.days), clean)


def _seen_by_two(
    gate: SeenByTwoGate, done: list[Turn], day: datetime.date, ladder: Ladder, surface: str | None
) -> Answer:
    seen = [
        turn
        for turn in done
        if turn.graded
        and turn.clean
        and (day - turn.day).days <= gate.within
        and counts_for(turn, gate.support, surface, ladder)
    ]
    graders = sorted({turn.author for turn in seen})
    met = False
    for one in graders:
        for other in graders:
            if one == other:
                continue
            days = {turn.day for turn in seen if turn.author in (one, other)}
            met = met or len(days) >= 2
            for each in days:
                by_one = [t for t in seen if t.author == one and t.day == each]
                by_other = [t for t in seen if t.author == other and t.day == each]
                met = met or (len(by_one) >= 3 and len(by_other) >= 3)
    return _answer(met, len(graders) / 2, len(graders))


def _first_turn(
    gate: FirstTurnGate, done: list[Turn], day: datetime.date, ladder: Ladder, surface: str | None
) -> Answer:
    recent = [turn for turn in done if (day - turn.day).days <= gate.within]
    if not recent:
        return Answer(False, 0.0, 0.0)
    latest = max(turn.day for turn in recent)
    of_day = [turn for turn in recent if turn.day == latest]
    first = min(of_day, key=lambda turn: (turn.at, turn.id))
    counted = counts_for(first, gate.support, surface, ladder)
    met = counted and first.graded and first.clean is True
    return _answer(met, float(met), float(met))
