"""What the pack says of each child: names, notes, and for each drill the support allowed, how far
its gate has come, and today's turns."""

import datetime
import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from readiness.engine import day_start
from readiness.engine.gates import CleanGate, GateReading
from readiness.engine.gates.common import AuthorMark
from readiness.engine.growing import is_growing
from readiness.engine.reading import StageReading, read_state
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import ChildState
from readiness.engine.support import (
    Allowed,
    allowed_at_start,
    allowed_now,
    asked_about,
    barred,
    is_open,
)
from readiness.engine.tallies import Turn, in_order
from readiness.record.standings import Reading
from readiness.words.gates import gate_sentence
from readiness.words.names import Names
from readiness.words.pauses import gone_or_still_there
from readiness.words.re_check import re_check_causes
from studio.models import Child, Meeting
from studio.people.class_lists import belonged
from studio.people.names import fold

# The gates whose value a tile can show as it moves from turn to turn.
SHOWN_GATES = ("clean", "reach", "count")

Data = dict[str, Any]
GateOfStage = tuple[GateReading, StageReading]


class TurnMarks(NamedTuple):
    """What stands for an author's number, for whether the turn is the reader's own, and for
    whether it is of this very class."""

    author: AuthorMark
    mine: AuthorMark
    here: AuthorMark


def children_of(meeting: Meeting) -> list[Child]:
    """The children who belonged to the class on that date and had not left by then, by the name
    used in class."""
    of_class = Child.objects.filter(belonged(meeting.group_id, meeting.date))
    children = of_class.exclude(left_on__lte=meeting.date).order_by("pk")
    return sorted(children, key=lambda child: (fold(child.called), child.name, child.pk))


def child_fields(reading: Reading, name: str) -> Data:
    names = Names(name, reading.ladder, reading.read.day)
    state = reading.read.state
    notes = [note for stage in reading.read.stages for note in re_check_causes(names, stage)]
    return {
        "paused": state.paused_since is not None,
        "head_step": state.head_step,
        "no_consent": state.consent in ("no", "not-asked"),
        "no_hands": [e.id for e in reading.record.events if _is_no_hands(e, state.day)],
        "pains": list(dict.fromkeys(place for day, place in state.pains if day == state.day)),
        "growing": is_growing(state, reading.ladder.engine),
        "notes": list(dict.fromkeys(notes)),
        "asked": [
            {"place": place, "says": gone_or_still_there(names, place, day)}
            for place, day in asked_about(state, reading.ladder.engine).items()
        ],
        "again": day_start.recent_pain_places(state, reading.ladder.engine),
    }


def _is_no_hands(event: Event, day: datetime.date) -> bool:
    return event.kind == "no-hands" and event.day == day


def without_no_hands(reading: Reading) -> Reading:
    """As if the child had not said it today: the tablet puts that on top, and can take it back."""
    read = reading.read
    if not read.state.no_hands:
        return reading
    state = replace(read.state, no_hands=False)
    ladder = reading.ladder.engine
    return replace(reading, read=read_state(state, reading.evidence, reading.turns, ladder))


def drill_fields(reading: Reading, marks: TurnMarks, name: str) -> Data:
    names = Names(name, reading.ladder, reading.read.day)
    gates = _gate_by_drill(reading)
    today: dict[str, list[Data]] = defaultdict(list)
    for turn in in_order(reading.turns):
        today[turn.drill].append(_turn(turn, marks))
    return {
        key: {
            **_allowed(reading, key),
            **_progress(gates.get(key), names),
            **_gate_start(reading, gates.get(key), marks.author),
            **_support_start(reading, key, reading.read.state),
            **_when_gone(reading, key),
            "today": today.get(key, []),
        }
        for key in reading.ladder.drills
    }


def _turn(turn: Turn, marks: TurnMarks) -> Data:
    outcome = {"clean": turn.clean} if turn.value is None else {"value": turn.value}
    return {
        "id": turn.id,
        "at": turn.at.isoformat(),
        **outcome,
        "surface": turn.surface,
        "support": turn.support,
        "caught": turn.caught,
        "faults": list(turn.faults),
        "graded": turn.graded,
        "author": marks.author(turn.author),
        "mine": marks.mine(turn.author),
        "here": marks.here(turn.meeting or 0),
    }


def _gate_start(reading: Reading, shown: GateOfStage | None, author_mark: AuthorMark) -> Data:
    """What the tablet needs to move sureness with each turn, by itself."""
    if shown is None:
        return {}
    (gate, stage), ladder = shown, reading.ladder.engine
    about = reading.evidence, reading.read.day, ladder, author_mark
    return {"gate": day_start.gate_start(gate.gate, stage, *about)}


def _support_start(reading: Reading, key: str, state: ChildState) -> Data:
    """The same for the support."""
    ladder = reading.ladder.engine
    drill = ladder.drills[key]
    if not drill.support_logged:
        return {}
    start = day_start.support_start(drill, state, reading.evidence, ladder)
    return {} if start is None else {"start": start}


def _when_gone(reading: Reading, key: str) -> Data:
    """What a drill that is left out for what hurt before allows once that is said to be gone."""
    ladder, state = reading.ladder.engine, reading.read.state
    drill, gone = ladder.drills[key], replace(state, sore={})
    if not barred(drill, state, ladder, state.day) or barred(drill, gone, ladder, state.day):
        return {}
    about = gone, reading.evidence, ladder
    allowed = {
        surface: allowed_now(drill, *about, surface, reading.turns)
        if drill.support_logged
        else allowed_at_start(drill, gone, ladder, surface)
        for surface in ladder.surfaces
    }
    return {"when_gone": {**_by_surface(allowed), **_support_start(reading, key, gone)}}


def _allowed(reading: Reading, key: str) -> Data:
    """The least support for the next turn by surface, null for "not now", and the causes. Where
    support is not logged, also with what the day began, if that was something else."""
    ladder, state = reading.ladder.engine, reading.read.state
    drill = ladder.drills[key]
    fields: Data = {
        "open": is_open(drill, state),
        "barred": barred(drill, state, ladder, state.day),
    }
    if drill.support_logged:
        read = [entry for entry in reading.read.support if entry.drill == key]
        return fields | _by_surface({entry.surface: entry.allowed for entry in read})
    easiest = ladder.surfaces[0]
    start = allowed_at_start(drill, state, ladder, easiest)
    now = allowed_now(drill, state, reading.evidence, ladder, easiest, reading.turns)
    if now != start:
        fields["begins"] = _by_surface(dict.fromkeys(ladder.surfaces, start))
    return fields | _by_surface(dict.fromkeys(ladder.surfaces, now))


def _by_surface(allowed: Mapping[str, Allowed]) -> Data:
    return {
        "allowed": {surface: _amount(least) for surface, least in allowed.items()},
        "causes": {surface: least.causes for surface, least in allowed.items() if least.causes},
    }


def _amount(allowed: Allowed) -> int | None:
    return None if allowed.support is None else int(allowed.support)


def _gate_by_drill(reading: Reading) -> dict[str, GateOfStage]:
    """For each drill the gate of the lowest closed stage that uses it, else of the last."""
    gates: dict[str, GateOfStage] = {}
    settled: set[str] = set()
    for stage in reading.read.stages:
        for gate in stage.gates:
            for drill in gate.gate.drills:
                if gate.gate.kind in SHOWN_GATES and drill not in settled:
                    gates[drill] = gate, stage
                    if stage.opening is None:
                        settled.add(drill)
    return gates


def _progress(shown: GateOfStage | None, names: Names) -> Data:
    """Sureness, with the turns behind it, for clean gates; for the others the best value and how
    far the gate has come."""
    if shown is None:
        return {"sure": None, "best": None}
    gate, _stage = shown
    common = {"need": gate.need, "met": gate.met, "sentence": gate_sentence(names, gate)}
    if isinstance(gate.gate, CleanGate):
        # Rounded down: 79.9 % must not look like the 80 % that opens a gate.
        value = math.floor(round(gate.value * 100, 6)) / 100
        turns = gate.parts["turns"]
        return {"sure": {"value": value, "turns": turns, **common}, "best": None}
    best = gate.parts.get("best", gate.value)
    return {"sure": None, "best": {"value": best, "share": round(gate.progress, 6), **common}}
