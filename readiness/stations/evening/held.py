"""The held turns of an evening, shared: for how many there is time, and what the rule reads of each
child. The rule is readiness/engine/stations/shares.py."""

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from readiness.engine.gates import CleanGate, GateReading
from readiness.engine.gates.common import Record
from readiness.engine.reading import CLOSED, StageReading
from readiness.engine.stations.shares import (
    EVENINGS,
    MOST,
    MOST_UNDER_NINE,
    HeldChild,
    Share,
    had_fewest,
    share,
)
from readiness.engine.tallies import Turn
from readiness.record.standings import Reading
from readiness.stations.evening.works import Need

# Three a child of the class, as in the trial of the rule (docs/decisions.md).
EACH = 3
UNDER_NINE = 9
LATELY = datetime.timedelta(days=28)

Needs = Mapping[int, Mapping[str, Need]]


@dataclass(frozen=True)
class HeldShare:
    """``drill``: at which these turns are held."""

    drill: str
    share: Share


def shares_of(
    readings: Sequence[Reading],
    turns: Mapping[int, Sequence[Turn]],
    needs: Needs,
    spotted: set[str],
    surface: str,
    coming: Sequence[datetime.date],
) -> dict[int, HeldShare]:
    """By child, of those who are held tonight at a drill that somebody here may spot, which is the
    one that is worth most to them. ``coming``: tonight and the class's next evenings."""
    drills = {}
    for reading in readings:
        drill = _held_drill(needs[reading.child.pk], spotted)
        if drill is not None:
            drills[reading.child.pk] = drill
    held = [reading for reading in readings if reading.child.pk in drills]
    taken = {each.child.pk: _taken(each, turns.get(each.child.pk, ())) for each in held}
    fewest = _had_fewest(held, taken)
    here = [
        _held(each, drills[each.child.pk], taken[each.child.pk], each.child.pk in fewest)
        for each in held
    ]
    by_child = {reading.child.pk: reading for reading in held}
    found = {}
    for each in share(here, EACH * len(here)):
        child, drill = each.held.child, drills[each.held.child]
        evenings = _good_evenings(by_child[child], drill, surface, each.turns, coming)
        said = replace(each, held=replace(each.held, good_evenings=evenings))
        found[child] = HeldShare(drill, said)
    return found


def with_turns(needs: Needs, shares: Mapping[int, HeldShare]) -> dict[int, dict[str, Need]]:
    """The needs with the held turns that are each child's."""
    found = {child: dict(own) for child, own in needs.items()}
    for child, each in shares.items():
        need = found[child][each.drill]
        found[child][each.drill] = replace(need, work=replace(need.work, turns=each.share.turns))
    return found


def _held_drill(needs: Mapping[str, Need], spotted: set[str]) -> str | None:
    """Of equals the later one of the ladder; None of a child for whom nothing held is worth it."""
    held = [
        need
        for key, need in needs.items()
        if need.work.spotters and key in spotted and need.reasons
    ]
    return max(reversed(held), key=lambda need: need.work.worth).work.drill if held else None


def _taken(reading: Reading, turns: Sequence[Turn]) -> dict[datetime.date, int]:
    """Held turns by day, oldest first, of the days before tonight on which the child was here."""
    drills, today = reading.ladder.engine.drills, reading.read.day
    days = sorted({turn.day for turn in turns if turn.day < today})
    held = Counter(
        turn.day
        for turn in turns
        if turn.support and turn.drill in drills and drills[turn.drill].spotted
    )
    return {day: held[day] for day in days}


def _had_fewest(
    held: Sequence[Reading], taken: Mapping[int, Mapping[datetime.date, int]]
) -> set[int]:
    """Who had the fewest on the newest evening they were here, among those who were here then."""
    most = {each.child.pk: MOST_UNDER_NINE if _is_small(each) else MOST for each in held}
    found = set()
    for child, own in taken.items():
        newest = max(own, default=None)
        if newest is not None:
            then = {each: days[newest] for each, days in taken.items() if newest in days}
            if child in had_fewest(then, most):
                found.add(child)
    return found


def _held(
    reading: Reading, drill: str, taken: Mapping[datetime.date, int], fewest: bool
) -> HeldChild:
    today, gate = reading.read.day, _gate(reading, drill)[1]
    newest = max(taken, default=None)
    return HeldChild(
        child=reading.child.pk,
        sureness=None if gate is None else gate.value,
        certainty=0 if gate is None else gate.need,
        missing_days=_missing_days(gate),
        turns_28=sum(n for day, n in taken.items() if day > today - LATELY),
        earlier=tuple(taken.values())[-EVENINGS:],
        had_fewest=fewest,
        under_nine=_is_small(reading),
        days_since=None if newest is None else (today - newest).days,
    )


def _good_evenings(
    reading: Reading, drill: str, surface: str, turns: int, coming: Sequence[datetime.date]
) -> int | None:
    """Evenings with so many clean turns until a director may be asked. None where they are not
    enough, or would not count: turns with more support than the gate asks, or on easier floors."""
    (stage, read), ladder, day = _gate(reading, drill), reading.ladder.engine, reading.read.day
    if stage is None or read is None or not stage.stage.sign_off:
        return None
    gate = read.gate
    if not isinstance(gate, CleanGate) or any(not o.met for o in stage.gates if o is not read):
        return None
    if reading.read.allowed(drill, surface).amount > gate.support:
        return None
    if stage.surface and ladder.rank(surface) < ladder.rank(stage.surface):
        return None
    record = Record(reading.evidence, ladder, day, day, stage.surface)
    return gate.good_days(record, coming, turns)


def _gate(reading: Reading, drill: str) -> tuple[StageReading | None, GateReading | None]:
    """The clean gate at the drill that lacks only turns, and its stage, which is in reach."""
    for stage in reading.read.stages:
        if stage.state == CLOSED and not stage.waits_for:
            for each in stage.gates:
                at_drill = isinstance(each.gate, CleanGate) and each.gate.drill == drill
                if at_drill and each.gate.lacks_only_turns(each):
                    return stage, each
    return None, None


def _missing_days(gate: GateReading | None) -> int:
    return 0 if gate is None else max(0, int(gate.parts["days_need"] - gate.parts["days"]))


def _is_small(reading: Reading) -> bool:
    age = reading.child.age_on(reading.read.day)
    return age is not None and age < UNDER_NINE
