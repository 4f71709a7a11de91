"""What is kept of a child from one day to the next, so that nobody reads years of turns again.

A ``Start`` is the state at the start of a day, and the record long before that day summed up.
With the tallies from ``Start.summary.first`` on, every reading of that day and of later days is
that of the whole record (Evidence says how), as long as the ladder stays the same.
"""

import datetime
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from readiness.engine.clean_rate import Faded, fade
from readiness.engine.evidence import DrillBefore, Evidence, Scope, Summary
from readiness.engine.gates import clean_scope, memory_of
from readiness.engine.ladder import (
    CleanGate,
    ClearGate,
    CountGate,
    FirstTurnGate,
    Gate,
    Ladder,
    ReachGate,
    SeenByTwoGate,
    Support,
)
from readiness.engine.replay.state import Cause, ChildState, DrillState, Opening, WayBack
from readiness.engine.support import Watch, watched_before, watched_days, watches

Data = dict[str, Any]
ONE_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Start:
    """The state at the start of ``state.day``; ``ladder`` is the number of the version in force.

    events: how many events of earlier days the state knows of. today: the watched sums of all
    days before ``state.day``, which is all that the support for a turn of that day asks of the
    past.
    """

    ladder: int
    events: int
    state: ChildState
    summary: Summary
    today: Summary


def make_start(
    number: int, events: int, state: ChildState, evidence: Evidence, ladder: Ladder
) -> Start | None:
    """What is kept at the start of the state's day, from evidence that reaches up to it.

    None with nothing on record before that day: such a child begins on the first day of it.
    """
    if all(opening.since >= state.day for opening in state.opened.values()):
        return None
    first = max(evidence.before.first, _oldest_needed(state, ladder))
    return Start(
        number,
        events,
        state,
        _summary(state, evidence, ladder, first),
        Summary(state.day, watched=_watched(state, evidence, ladder, state.day)),
    )


def _oldest_needed(state: ChildState, ladder: Ladder) -> datetime.date:
    """The first day of which the tallies themselves are asked for: as far back as a rule looks,
    and every way back is walked turn by turn."""
    gates = [gate for stage in ladder.stages for gate in stage.gates]
    needs = [gate for drill in ladder.drills.values() for gate in drill.needs]
    longest = max((_looks_back(gate) for gate in [*gates, *needs]), default=0)
    longest = max(longest, ladder.practice.within, ladder.way_back.stops_within)
    backs = [kept.way_back.after for kept in state.drills.values() if kept.way_back]
    return min([state.day - datetime.timedelta(days=longest + 1), *backs])


def _looks_back(gate: Gate) -> int:
    """How many days back a gate looks at days one by one."""
    match gate:
        case CleanGate():
            return gate.rule.within
        case ReachGate() | CountGate() | SeenByTwoGate() | FirstTurnGate():
            return gate.within
        case ClearGate():
            return gate.days
    raise TypeError(f"not a gate: {gate!r}")


# --- summing up ----------------------------------------------------------------------


def _summary(
    state: ChildState, evidence: Evidence, ladder: Ladder, first: datetime.date
) -> Summary:
    drills = {
        drill: found
        for drill in sorted(evidence.drills())
        if (found := _drill_before(drill, state, evidence, ladder, first)) is not None
    }
    memory, last = memory_of(ladder), first - ONE_DAY
    clean = {
        (drill, scope): fade(
            evidence.clean_days(drill, ladder, last, scope), memory, evidence.faded(drill, scope)
        )
        for drill in drills
        for scope in _scopes_of(drill, ladder)
    }
    return Summary(first, drills, clean, _watched(state, evidence, ladder, first))


def _drill_before(
    drill: str, state: ChildState, evidence: Evidence, ladder: Ladder, first: datetime.date
) -> DrillBefore | None:
    until = first - ONE_DAY
    last = evidence.last_day(drill, until)
    if last is None:
        return None
    stopped, clean = evidence.clean_since_stop(drill, ladder, until)
    kept = state.drills.get(drill)
    opened = kept.open_since if kept else None
    return DrillBefore(
        last=last,
        surfaces=frozenset(evidence.surfaces(drill, until)),
        last_stop=stopped,
        clean_since_stop=clean,
        opened=opened,
        days_since_open=evidence.days_open(drill, until, opened) if opened else 0,
    )


def _scopes_of(drill: str, ladder: Ladder) -> set[Scope]:
    """Every scope in which a clean rule of the ladder may ask for this drill's turns."""
    stages = [gate for stage in ladder.stages for gate in stage.gates]
    needs = [gate for each in ladder.drills.values() for gate in each.needs]
    gates = [g for g in [*stages, *needs] if isinstance(g, CleanGate) and g.drill == drill]
    scopes = {clean_scope(gate, surface) for gate in gates for surface in [None, *ladder.surfaces]}
    steps = ladder.drills[drill].allow if drill in ladder.drills else ()
    return scopes | {Scope(step.steady) for step in steps if step.steady is not None}


def _watched(
    state: ChildState, evidence: Evidence, ladder: Ladder, first: datetime.date
) -> dict[tuple[str, Scope, datetime.date], Faded | None]:
    """The watched rules whose days begin before ``first``."""
    found = {}
    for key, kept in state.drills.items():
        drill = ladder.drills.get(key)
        for watch in watches(drill, state, ladder) if drill else ():
            since = kept.watched_from.get(watch.name)
            if since is not None and since < first:
                found[key, watch.scope, since] = _short_sum(watch, state, evidence, ladder, first)
    return found


def _short_sum(
    watch: Watch, state: ChildState, evidence: Evidence, ladder: Ladder, first: datetime.date
) -> Faded | None:
    days = watched_days(watch, state, evidence, ladder, first - ONE_DAY)
    memory = memory_of(ladder, ladder.lately_days)
    return fade(days, memory, watched_before(watch, state, evidence))


# --- as plain data -------------------------------------------------------------------


def as_data(start: Start) -> Data:
    """Plain data, in a fixed order: equal starts give equal data."""
    return {
        "ladder": start.ladder,
        "events": start.events,
        "state": _state_as_data(start.state),
        "summary": _summary_as_data(start.summary),
        "today": _summary_as_data(start.today),
    }


def from_data(data: Data) -> Start:
    return Start(
        data["ladder"],
        data["events"],
        _state_from(data["state"]),
        _summary_from(data["summary"]),
        _summary_from(data["today"]),
    )


def _state_as_data(state: ChildState) -> Data:
    return {
        "day": state.day.isoformat(),
        "opened": {
            code: [opening.since.isoformat(), opening.how, opening.surface]
            for code, opening in sorted(state.opened.items())
        },
        "drills": {
            key: {
                "open_since": _iso(kept.open_since),
                "steps": sorted(kept.steps),
                "way_back": _way_back_as_data(kept.way_back),
                "watched_from": {n: d.isoformat() for n, d in sorted(kept.watched_from.items())},
            }
            for key, kept in sorted(state.drills.items())
        },
        "exceptions": sorted(state.exceptions),
        "sent_back": {code: day.isoformat() for code, day in sorted(state.sent_back.items())},
        "paused_since": _iso(state.paused_since),
        "pains": [[day.isoformat(), place] for day, place in state.pains],
    }


def _way_back_as_data(back: WayBack | None) -> Data | None:
    if back is None:
        return None
    return {
        "level": int(back.level),
        "after": back.after.isoformat(),
        "director": back.director,
        "causes": [
            [cause.code, cause.day.isoformat(), list(cause.stages), int(cause.asks)]
            for cause in back.causes
        ],
    }


def _state_from(data: Data) -> ChildState:
    return ChildState(
        day=_day(data["day"]),
        opened={
            code: Opening(_day(since), how, surface)
            for code, (since, how, surface) in data["opened"].items()
        },
        drills={
            key: DrillState(
                open_since=_day_or_none(kept["open_since"]),
                steps=set(kept["steps"]),
                way_back=_way_back_from(kept["way_back"]),
                watched_from={name: _day(day) for name, day in kept["watched_from"].items()},
            )
            for key, kept in data["drills"].items()
        },
        exceptions=set(data["exceptions"]),
        sent_back={code: _day(day) for code, day in data["sent_back"].items()},
        paused_since=_day_or_none(data["paused_since"]),
        pains=[(_day(day), place) for day, place in data["pains"]],
    )


def _way_back_from(data: Data | None) -> WayBack | None:
    if data is None:
        return None
    causes = tuple(
        Cause(code, _day(day), tuple(stages), Support(asks))
        for code, day, stages, asks in data["causes"]
    )
    return WayBack(Support(data["level"]), _day(data["after"]), causes, data["director"])


def _summary_as_data(summary: Summary) -> Data:
    return {
        "first": summary.first.isoformat(),
        "drills": {
            drill: {
                **asdict(before),
                "last": before.last.isoformat(),
                "surfaces": sorted(before.surfaces),
                "last_stop": _iso(before.last_stop),
                "opened": _iso(before.opened),
            }
            for drill, before in sorted(summary.drills.items())
        },
        "clean": _in_order(
            [drill, *_scope_as_data(scope), _faded_as_data(faded)]
            for (drill, scope), faded in summary.clean.items()
        ),
        "watched": _in_order(
            [drill, *_scope_as_data(scope), since.isoformat(), _faded_as_data(faded)]
            for (drill, scope, since), faded in summary.watched.items()
        ),
    }


def _summary_from(data: Data) -> Summary:
    return Summary(
        first=_day(data["first"]),
        drills={
            drill: DrillBefore(
                last=_day(before["last"]),
                surfaces=frozenset(before["surfaces"]),
                last_stop=_day_or_none(before["last_stop"]),
                clean_since_stop=before["clean_since_stop"],
                opened=_day_or_none(before["opened"]),
                days_since_open=before["days_since_open"],
            )
            for drill, before in data["drills"].items()
        },
        clean={(drill, _scope(scope)): _faded(f) for drill, *scope, f in data["clean"]},
        watched={
            (drill, _scope(scope), _day(since)): _faded(f)
            for drill, *scope, since, f in data["watched"]
        },
    )


def _in_order(rows: Iterable[list[Any]]) -> list[list[Any]]:
    return sorted(rows, key=str)


def _scope_as_data(scope: Scope) -> list[Any]:
    return [int(scope.support), scope.surface, scope.graded]


def _scope(data: list[Any]) -> Scope:
    support, surface, graded = data
    return Scope(Support(support), surface, graded)


def _faded_as_data(faded: Faded | None) -> list[Any] | None:
    return None if faded is None else [faded.clean, faded.missed, faded.last.isoformat()]


def _faded(data: list[Any] | None) -> Faded | None:
    return None if data is None else Faded(data[0], data[1], _day(data[2]))


def _iso(day: datetime.date | None) -> str | None:
    return day.isoformat() if day else None


def _day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def _day_or_none(text: str | None) -> datetime.date | None:
    return _day(text) if text else None
