"""Checkpoints: a child's state from one day to the next, so that years of turns are not replayed.

Shared: used by the record, which stores them. A ``Checkpoint`` is the state at the start of a
day, and the record long before that day summed up.
With the tallies from ``Checkpoint.summary.first_of`` on, every reading of that day and of later
days is that of the whole record (Evidence says how), as long as the ladder stays the same.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from readiness.engine.clean_rate import DecayedCounts, decayed_counts
from readiness.engine.evidence import DrillSummary, Evidence, Scope, Summary
from readiness.engine.gates import CleanGate
from readiness.engine.head_steps import HeadWay
from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.state import (
    ONE_DAY,
    Cause,
    ChildState,
    Doubt,
    DrillState,
    Opening,
    WayBack,
)
from readiness.engine.support import Watch, watched_before, watched_days, watches

Data = dict[str, Any]


@dataclass(frozen=True)
class Checkpoint:
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


def make_checkpoint(
    number: int, events: int, state: ChildState, evidence: Evidence, ladder: Ladder
) -> Checkpoint | None:
    """The checkpoint at the start of the state's day, from evidence that reaches up to it.

    None with nothing on record before that day: such a child begins on the first day of it.
    """
    if all(opening.since >= state.day for opening in state.opened.values()):
        return None
    before = _reach(state, evidence.before, ladder)
    today = Summary(state.day)
    return Checkpoint(
        number,
        events,
        state,
        _summary(state, evidence, ladder, before),
        replace(today, watched=_watched(state, evidence, ladder, today)),
    )


def _reach(state: ChildState, before: Summary, ladder: Ladder) -> Summary:
    """Up to which day the record can be summed up: as far back as a rule for any drill looks,
    and every way back is walked turn by turn; of some drills a gate looks further."""
    backs = [each.way_back.after for each in state.drills.values() if each.way_back]
    tap = ladder.tap.clean.within if ladder.tap else 0
    window = max(ladder.practice.within, ladder.way_back.stops_within, tap)
    first = max(before.first, min([_days_before(state.day, window), *backs]))
    longer: dict[str, datetime.date] = {}
    for drill, looked_back in ladder.looked_back.items():
        day = max(before.first_of(drill), _days_before(state.day, looked_back))
        if day < first:
            longer[drill] = day
    return Summary(first, longer)


def _days_before(day: datetime.date, days: int) -> datetime.date:
    """The day before a window of so many days that ends with ``day``."""
    return day - datetime.timedelta(days=days + 1)


# --- summing up ----------------------------------------------------------------------


def _summary(state: ChildState, evidence: Evidence, ladder: Ladder, before: Summary) -> Summary:
    """``before``: up to which day of each drill."""
    drills = {
        drill: summary
        for drill in sorted(evidence.drills())
        if (summary := _drill_summary(drill, state, evidence, ladder, before)) is not None
    }
    clean = {
        (drill, scope): decayed_counts(
            evidence.clean_days(drill, ladder, before.first_of(drill) - ONE_DAY, scope),
            ladder.decay,
            evidence.decayed_before(drill, scope),
        )
        for drill in drills
        for scope in _scopes_of(drill, ladder)
    }
    watched = _watched(state, evidence, ladder, before)
    return replace(before, drills=drills, clean=clean, watched=watched)


def _drill_summary(
    drill: str, state: ChildState, evidence: Evidence, ladder: Ladder, before: Summary
) -> DrillSummary | None:
    until = before.first_of(drill) - ONE_DAY
    last = evidence.last_day(drill, until)
    if last is None:
        return None
    stopped, clean = evidence.clean_since_stop(drill, ladder, until)
    drill_state = state.drills.get(drill)
    opened = drill_state.open_since if drill_state else None
    return DrillSummary(
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
    needs = [gate for other in ladder.drills.values() for gate in other.needs]
    gates = [g for g in [*stages, *needs] if isinstance(g, CleanGate) and g.drill == drill]
    scopes = {gate.scope(surface) for gate in gates for surface in [None, *ladder.surfaces]}
    steps = ladder.drills[drill].allow if drill in ladder.drills else ()
    return scopes | {Scope(step.steady) for step in steps if step.steady is not None}


def _watched(
    state: ChildState, evidence: Evidence, ladder: Ladder, before: Summary
) -> dict[tuple[str, Scope, datetime.date], DecayedCounts | None]:
    """The watched rules whose days begin before the first that is not summed up."""
    sums = {}
    for key, drill_state in state.drills.items():
        drill, first = ladder.drills.get(key), before.first_of(key)
        for watch in watches(drill, state, ladder) if drill else ():
            since = drill_state.watched_from.get(watch.name)
            if since is not None and since < first:
                sums[key, watch.scope, since] = _short_sum(watch, state, evidence, ladder, first)
    return sums


def _short_sum(
    watch: Watch, state: ChildState, evidence: Evidence, ladder: Ladder, first: datetime.date
) -> DecayedCounts | None:
    days = watched_days(watch, state, evidence, ladder, first - ONE_DAY)
    return decayed_counts(days, ladder.short_decay, watched_before(watch, state, evidence))


# --- as plain data -------------------------------------------------------------------


def as_data(checkpoint: Checkpoint) -> Data:
    """Plain data, in a fixed order: equal checkpoints give equal data."""
    return {
        "ladder": checkpoint.ladder,
        "events": checkpoint.events,
        "state": _state_as_data(checkpoint.state),
        "summary": _summary_as_data(checkpoint.summary),
        "today": _summary_as_data(checkpoint.today),
    }


def from_data(data: Data) -> Checkpoint:
    state, today = start_of_day(data)
    return Checkpoint(data["ladder"], data["events"], state, _summary_from(data["summary"]), today)


def start_of_day(data: Data) -> tuple[ChildState, Summary]:
    """The state and ``today`` alone: all that a turn of that day asks of the days before."""
    return _state_from(data["state"]), _summary_from(data["today"])


def _state_as_data(state: ChildState) -> Data:
    return {
        "day": state.day.isoformat(),
        "opened": {
            code: [opening.since.isoformat(), opening.how, opening.surface]
            for code, opening in sorted(state.opened.items())
        },
        "drills": {
            key: _drill_as_data(drill_state) for key, drill_state in sorted(state.drills.items())
        },
        "exceptions": sorted(state.exceptions),
        "sent_back": {code: day.isoformat() for code, day in sorted(state.sent_back.items())},
        "paused_since": _iso(state.paused_since),
        "pains": [[day.isoformat(), place] for day, place in state.pains],
        "consent": state.consent,
        "doubt": [state.doubt.day.isoformat(), sorted(state.doubt.skills)] if state.doubt else None,
        "clean_on": {
            drill: dict(sorted(clean.items())) for drill, clean in sorted(state.clean_on.items())
        },
        "growing_since": _iso(state.growing_since),
        "sore": {place: day.isoformat() for place, day in sorted(state.sore.items())},
        "head": _head_as_data(state.head) if state.head else None,
    }


def _drill_as_data(drill_state: DrillState) -> Data:
    """Only what there is: every turn of the day reads it, of every drill of the child."""
    about = {
        "open_since": _iso(drill_state.open_since),
        "steps": sorted(drill_state.steps),
        "way_back": _way_back_as_data(drill_state.way_back),
        "watched_from": {n: d.isoformat() for n, d in sorted(drill_state.watched_from.items())},
        "falls": [day.isoformat() for day in drill_state.falls],
    }
    return {name: value for name, value in about.items() if value}


def _drill_from(data: Data) -> DrillState:
    return DrillState(
        open_since=_day_or_none(data.get("open_since")),
        steps=set(data.get("steps", ())),
        way_back=_way_back_from(data.get("way_back")),
        watched_from={name: _day(day) for name, day in data.get("watched_from", {}).items()},
        falls=tuple(_day(day) for day in data.get("falls", ())),
    )


def _head_as_data(way: HeadWay) -> Data:
    return {
        "knocked_on": way.knocked_on.isoformat(),
        "last_symptom": way.last_symptom.isoformat(),
        "cleared_on": _iso(way.cleared_on),
        "step": way.step,
        "given_on": _iso(way.given_on),
        "given_at": way.given_at.isoformat() if way.given_at else None,
    }


def _head_from(data: Data) -> HeadWay:
    at = data["given_at"]
    return HeadWay(
        knocked_on=_day(data["knocked_on"]),
        last_symptom=_day(data["last_symptom"]),
        cleared_on=_day_or_none(data["cleared_on"]),
        step=data["step"],
        given_on=_day_or_none(data["given_on"]),
        given_at=datetime.datetime.fromisoformat(at) if at else None,
    )


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
        drills={key: _drill_from(about) for key, about in data["drills"].items()},
        exceptions=set(data["exceptions"]),
        sent_back={code: _day(day) for code, day in data["sent_back"].items()},
        paused_since=_day_or_none(data["paused_since"]),
        pains=[(_day(day), place) for day, place in data["pains"]],
        doubt=_doubt_from(data["doubt"]),
        clean_on={drill: dict(clean) for drill, clean in data["clean_on"].items()},
        growing_since=_day_or_none(data.get("growing_since")),
        sore={place: _day(day) for place, day in data.get("sore", {}).items()},
        consent=data["consent"],
        head=_head_from(data["head"]) if data.get("head") else None,
    )


def _doubt_from(data: list[Any] | None) -> Doubt | None:
    return None if data is None else Doubt(_day(data[0]), frozenset(data[1]))


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
        "longer": {drill: day.isoformat() for drill, day in sorted(summary.longer.items())},
        "drills": {
            drill: {
                "last": before.last.isoformat(),
                "surfaces": sorted(before.surfaces),
                "last_stop": _iso(before.last_stop),
                "clean_since_stop": before.clean_since_stop,
                "opened": _iso(before.opened),
                "days_since_open": before.days_since_open,
            }
            for drill, before in sorted(summary.drills.items())
        },
        "clean": _in_order(
            [drill, *_scope_as_data(scope), _counts_as_data(counts)]
            for (drill, scope), counts in summary.clean.items()
        ),
        "watched": _in_order(
            [drill, *_scope_as_data(scope), since.isoformat(), _counts_as_data(counts)]
            for (drill, scope, since), counts in summary.watched.items()
        ),
    }


def _summary_from(data: Data) -> Summary:
    return Summary(
        first=_day(data["first"]),
        # Those of an earlier release reach equally far back at every drill.
        longer={drill: _day(day) for drill, day in data.get("longer", {}).items()},
        drills={
            drill: DrillSummary(
                last=_day(before["last"]),
                surfaces=frozenset(before["surfaces"]),
                last_stop=_day_or_none(before["last_stop"]),
                clean_since_stop=before["clean_since_stop"],
                opened=_day_or_none(before["opened"]),
                days_since_open=before["days_since_open"],
            )
            for drill, before in data["drills"].items()
        },
        clean={(drill, _scope(scope)): _counts(f) for drill, *scope, f in data["clean"]},
        watched={
            (drill, _scope(scope), _day(since)): _counts(f)
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


def _counts_as_data(counts: DecayedCounts | None) -> list[Any] | None:
    return None if counts is None else [counts.clean, counts.missed, counts.last.isoformat()]


def _counts(data: list[Any] | None) -> DecayedCounts | None:
    return None if data is None else DecayedCounts(data[0], data[1], _day(data[2]))


def _iso(day: datetime.date | None) -> str | None:
    return day.isoformat() if day else None


def _day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def _day_or_none(text: str | None) -> datetime.date | None:
    return _day(text) if text else None
