"""The pack: everything the floor page shows of one meeting, as JSON.

It is put together from the readings and the day's log and decides nothing itself. Codes are
the ladder's own; the few sentences in it come from readiness/words/. What it says of a child
is kept (readiness/floor/kept_parts.py) until something of that child changes.
"""

import datetime
import json
import math
import threading
import uuid
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.db.models import QuerySet, Sum
from django.utils.translation import get_language

from progression.log.logbook import LESS_CODES, SCHEMA, STRIKE_CODES
from progression.models import SUPPORTS
from readiness.engine import day_start
from readiness.engine.ladder import Gate, Support
from readiness.engine.reading import StageReading
from readiness.engine.support import Allowed, allowed_at_start, barred, is_open
from readiness.engine.tallies import Turn, in_order
from readiness.floor.before_class import entries_of, under_headings
from readiness.floor.kept_parts import KEPT, Key, LastDone, Part
from readiness.models import FaultTally
from readiness.record.evidence_loader import Record, event_ids, turn_ids
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.log_epoch import log_name
from readiness.record.memory import Place
from readiness.record.standings import Reading, open_class, read_many
from readiness.words.gates import gate_sentence
from readiness.words.names import Names
from readiness.words.re_check import re_check_causes
from readiness.words.stages import all_stages
from studio.access import may_grade
from studio.db.prepared import prepared
from studio.models import Attendance, Child, Meeting, Staff

# Drills used last come first in the page's strip; faults seen in the last year come first.
RECENT_DRILLS = 10
FAULTS_WITHIN = datetime.timedelta(days=365)

# What the pack says of a ladder is kept for as many versions; one at a time is in force.
LADDERS_IN_USE = 4

# The gates whose value a tile can show as it moves from turn to turn.
SHOWN_GATES = ("clean", "reach", "count")

# Packs are made one after the other in a process, so that a turn waits for one of them at most.
MAKING = threading.Lock()

Data = dict[str, Any]


def build_pack(
    meeting: Meeting, staff: Staff, now: datetime.datetime, own: Data | None = None
) -> str:
    """The pack of a meeting for one member of staff, as JSON. Queries do not grow with the class.

    own: what the view tells of the tablet, put beside the rest.
    """
    children = _children_of(meeting)
    ladders = Ladders()
    ladder = ladders.named_on(meeting.date)
    asked = _Asked(meeting.date, staff, short_names(children), ladders)
    parts = _parts(children, asked)
    whole = {
        "v": SCHEMA,
        "log": str(log_name("", None)),
        "now": now.isoformat(),
        "day": meeting.date.isoformat(),
        "ladder": ladder.number,
        "meeting": _about_meeting(meeting),
        "me": {"id": str(staff.uuid), "name": staff.called, "grades": may_grade(staff)},
        **_about_ladder(ladder, _faults_seen(children, meeting.date)),
        **_used_last([parts[child.pk].last for child in children]),
        "strikes": STRIKE_CODES,
        "less": LESS_CODES,
        "before": under_headings((child.uuid, parts[child.pk].before) for child in children),
        **(own or {}),
    }
    present = _present_at(meeting)
    told = (_joined({"present": present.get(each.pk)}, parts[each.pk].text) for each in children)
    return _joined(whole, f'{{"children":[{",".join(told)}]}}')


def _as_json(data: Data) -> str:
    return json.dumps(data, separators=(",", ":"))


def _joined(data: Data, text: str) -> str:
    """One JSON object of some data and of another object that is text already."""
    return f"{_as_json(data)[:-1]},{text[1:]}"


# --- what is kept of each child ------------------------------------------------------


@dataclass(frozen=True)
class _Asked:
    """What parts are asked for: of which day, for whom, and with the names of the page."""

    day: datetime.date
    staff: Staff
    names: Mapping[int, str]
    ladders: Ladders

    def place(self, child: int) -> Place:
        return Place(child, self.staff.pk)

    def key(self, child: int, start: uuid.UUID, turns: Iterable[str], events: Iterable[str]) -> Key:
        ids = frozenset(turns), frozenset(events)
        return Key(self.day, start, *ids, self.names[child], self.ladders.versions, get_language())


def _parts(children: Sequence[Child], asked: _Asked) -> dict[int, Part]:
    """By child: as it is kept, where nothing has changed since; the others are read."""
    begun, readings = open_class(children, asked.day, asked.ladders)
    found = {reading.child.pk: _made(reading, asked) for reading in readings}
    found |= _kept(begun, asked)
    missing = [child for child in children if child.pk not in found]
    if missing:
        with MAKING:
            readings = read_many(missing, asked.day, asked.ladders)
            found |= {reading.child.pk: _made(reading, asked) for reading in readings}
    return found


def _kept(begun: Mapping[int, uuid.UUID], asked: _Asked) -> dict[int, Part]:
    turns, events = turn_ids(begun, asked.day), event_ids(begun)
    found = {}
    for child, start in begun.items():
        key = asked.key(child, start, turns[child], events[child])
        part = KEPT.find(asked.place(child), key)
        if part is not None:
            found[child] = part
    return found


def _made(reading: Reading, asked: _Asked) -> Part:
    """Made, and kept by what was read: something may have come in since it was looked for."""
    child = reading.child.pk
    part = _part(reading, asked.names[child], Numbers(asked.staff))
    if reading.start_id is not None:
        turns = [turn.id for turn in reading.turns]
        events = [event.id for event in reading.record.events]
        KEPT.keep(asked.place(child), asked.key(child, reading.start_id, turns, events), part)
    return part


def _part(reading: Reading, name: str, numbers: "Numbers") -> Part:
    data = {
        "id": str(reading.child.uuid),
        "name": name,
        **_about_child(reading, name),
        "drills": _drills_of(reading, numbers, name),
    }
    return Part(_as_json(data), tuple(entries_of(reading, name)), _last_done(reading.record))


class Numbers:
    """A small number for each author of a child's turns, 0 for the one whose pack it is: enough
    to tell them apart, and no key of the database."""

    def __init__(self, me: Staff) -> None:
        self._numbers = {me.pk: 0}

    def __call__(self, author: int) -> int:
        return self._numbers.setdefault(author, len(self._numbers))


def _children_of(meeting: Meeting) -> list[Child]:
    """The class's children who have not left by that date, by the name used in class."""
    children = meeting.group.children.exclude(left_on__lte=meeting.date).order_by("pk")
    return sorted(children, key=lambda child: (child.called.casefold(), child.name, child.pk))


def short_names(children: Sequence[Child]) -> dict[int, str]:
    """A name for each child that is told apart from the others' at a glance.

    The name used in class; where two share it, with as much of the name's last word as tells
    them apart; where that is not enough either, the whole name and a number.
    """
    names = {child.pk: child.called for child in children}
    for letters in (1, 3, 120):
        for child in _sharing(children, names):
            last = child.name.split()[-1]
            ending = last[:letters] + ("." if letters < len(last) else "")
            names[child.pk] = f"{child.called} {ending}"
    for number, child in enumerate(_sharing(children, names), start=1):
        names[child.pk] = f"{child.name} ({number})"
    return names


def _sharing(children: Sequence[Child], names: Mapping[int, str]) -> list[Child]:
    folded = {child.pk: names[child.pk].casefold() for child in children}
    times = Counter(folded.values())
    return [child for child in children if times[folded[child.pk]] > 1]


def _present_at(meeting: Meeting) -> dict[int, bool]:
    """The latest statement about each child stands."""
    return dict(_said_at(meeting.pk))


@prepared
def _said_at(meeting: int) -> "QuerySet[Any, Any]":
    said = Attendance.objects.filter(meeting=meeting).order_by("at", "pk")
    return said.values_list("child_id", "present")


def _about_meeting(meeting: Meeting) -> Data:
    group, location = meeting.group, meeting.group.location
    return {
        "id": str(meeting.uuid),
        "group": group.name,
        "date": meeting.date.isoformat(),
        "starts_at": f"{meeting.starts_at:%H:%M}",
        # From then on a tablet keeps the pack no longer.
        "over_at": location.end_of(meeting.date).isoformat(),
        "location": location.name,
        "address": location.address,
        "emergency": location.emergency_number,
        "adults": len(_adults_at(meeting.pk)),
    }


@prepared
def _adults_at(meeting: int) -> "QuerySet[Any, Any]":
    return Meeting.staff.through.objects.filter(meeting=meeting).values_list("staff_id")


# --- the ladder ----------------------------------------------------------------------


def _faults_seen(children: Sequence[Child], day: datetime.date) -> defaultdict[str, Counter[str]]:
    """How often each fault of a drill was seen in this class in the last year."""
    seen: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for drill, fault, times in _faults([child.pk for child in children], day - FAULTS_WITHIN):
        seen[drill][fault] = times
    return seen


@prepared
def _faults(children: Sequence[int], first: datetime.date) -> "QuerySet[Any, Any]":
    tallies = FaultTally.objects.filter(child__in=children, day__gte=first)
    return tallies.values_list("drill__key", "fault").annotate(Sum("count"))


def _about_ladder(ladder: NamedLadder, seen: defaultdict[str, Counter[str]]) -> Data:
    return {
        "supports": [
            {"amount": amount, "code": Support(amount).code, "name": str(name)}
            for amount, name in SUPPORTS
        ],
        **_of_every_class(ladder),
        "drills": [
            {**drill, "faults": sorted(faults, key=lambda each: -seen[drill["key"]][each["key"]])}
            for drill, faults in _drills_and_faults(ladder)
        ],
    }


@lru_cache(maxsize=LADDERS_IN_USE)
def _of_every_class(ladder: NamedLadder) -> Data:
    content = ladder.content
    return {
        "surfaces": [_only(surface, "key", "name") for surface in content["surface"]],
        "strands": [_only(strand, "key", "name") for strand in content["strand"]],
        "pain": [_only(pain, "place", "name", "pause") for pain in content["pain"]],
        "rules": day_start.rules(ladder.engine),
    }


@lru_cache(maxsize=LADDERS_IN_USE)
def _drills_and_faults(ladder: NamedLadder) -> list[tuple[Data, list[Data]]]:
    return [
        (_about_drill(each, ladder), _faults_of(each, ladder)) for each in ladder.content["drill"]
    ]


def _about_drill(drill: Data, ladder: NamedLadder) -> Data:
    return {
        **_only(drill, "key", "name", "measure", "most", "support_logged", "strand", "cues"),
        "spotters": drill["spotters"],
        "rubric": _rubric(drill.get("rubric"), ladder),
    }


def _faults_of(drill: Data, ladder: NamedLadder) -> list[Data]:
    # "Caught" is a mark of its own on a turn; as a fault it would stand there twice.
    return [
        _only(fault, "key", "sees", "stop")
        for fault in ladder.content["fault"]
        if drill["key"] in fault["belongs"] and fault["key"] != "caught"
    ]


def _rubric(key: str | None, ladder: NamedLadder) -> Data | None:
    for rubric in ladder.content["rubric"]:
        if rubric["key"] == key:
            fields = ("pose", "grade", "words", "also", "angles")
            poses = [_only(pose, *fields) for pose in rubric["pose"]]
            return {"key": key, "view": rubric["view"], "poses": poses}
    return None


def _only(whole: Mapping[str, Any], *names: str) -> Data:
    return {name: whole[name] for name in names if name in whole}


def _last_done(record: Record) -> LastDone:
    drills: dict[str, tuple[datetime.date, int]] = {}
    surfaces: Counter[str] = Counter()
    latest = max((tally.day for tally in record.tallies), default=datetime.date.min)
    for tally in record.tallies:
        day, turns = drills.get(tally.drill, (tally.day, 0))
        more = turns + tally.turns if tally.day == day else tally.turns
        drills[tally.drill] = max((day, turns), (tally.day, more))
        if tally.day == latest:
            surfaces[tally.surface] += tally.turns
    return LastDone(drills, latest, surfaces)


def _used_last(lasts: Sequence[LastDone]) -> Data:
    """The drills that this class did last, and the surface it was on."""
    drills: dict[str, tuple[datetime.date, int]] = {}
    surfaces: Counter[str] = Counter()
    latest = max((last.day for last in lasts), default=datetime.date.min)
    for last in lasts:
        for drill, (day, turns) in last.drills.items():
            known, times = drills.get(drill, (day, 0))
            more = times + turns if day == known else turns
            drills[drill] = max((known, times), (day, more))
        if last.day == latest:
            surfaces.update(last.surfaces)
    recent = sorted(sorted(drills), key=lambda drill: drills[drill], reverse=True)
    surface = min(surfaces, key=lambda key: (-surfaces[key], key), default=None)
    return {"recent": recent[:RECENT_DRILLS], "surface": surface}


# --- a child -------------------------------------------------------------------------


def _about_child(reading: Reading, name: str) -> Data:
    names = Names(name, reading.ladder, reading.read.day)
    state = reading.read.state
    notes = [note for stage in all_stages(reading.data) for note in re_check_causes(names, stage)]
    return {
        "paused": state.paused_since is not None,
        "pains": list(dict.fromkeys(place for day, place in state.pains if day == state.day)),
        "notes": list(dict.fromkeys(notes)),
        "again": day_start.places_told_lately(state, reading.ladder.engine),
    }


def _drills_of(reading: Reading, numbers: Numbers, name: str) -> Data:
    names = Names(name, reading.ladder, reading.read.day)
    gates = _gate_by_drill(reading)
    today: dict[str, list[Data]] = defaultdict(list)
    for turn in in_order(reading.turns):
        today[turn.drill].append(_turn(turn, numbers))
    return {
        key: {
            **_allowed(reading, key),
            **_progress(gates.get(key), names),
            **_day_start(reading, key, gates.get(key), numbers),
            "today": today.get(key, []),
        }
        for key in reading.ladder.drills
    }


def _turn(turn: Turn, numbers: Numbers) -> Data:
    outcome = {"clean": turn.clean} if turn.value is None else {"value": turn.value}
    author = numbers(turn.author)
    return {
        "id": turn.id,
        "at": turn.at.isoformat(),
        **outcome,
        "surface": turn.surface,
        "support": turn.support,
        "caught": turn.caught,
        "faults": list(turn.faults),
        "graded": turn.graded,
        "author": author,
        "mine": author == 0,
    }


def _day_start(reading: Reading, key: str, gate: Data | None, numbers: Numbers) -> Data:
    """What the tablet needs to move sureness and support with each turn, by itself."""
    ladder, read = reading.ladder.engine, reading.read
    told: Data = {}
    if gate is not None:
        shown, stage = _in_engine(reading, gate["code"])
        told["gate"] = day_start.gate_start(
            shown, stage, reading.evidence, read.day, ladder, numbers
        )
    drill = ladder.drills[key]
    if drill.support_logged:
        start = day_start.support_start(drill, read.state, reading.evidence, ladder)
        if start is not None:
            told["start"] = start
    return told


def _in_engine(reading: Reading, code: str) -> tuple[Gate, StageReading]:
    return next(
        (gate, stage)
        for stage in reading.read.stages
        for gate in stage.stage.gates
        if gate.code == code
    )


def _allowed(reading: Reading, key: str) -> Data:
    """The least support for the next turn by surface, null for "not now", and the causes."""
    ladder, state = reading.ladder.engine, reading.read.state
    drill = ladder.drills[key]
    if drill.support_logged:
        allowed = {each.surface: each.allowed for each in reading.read.support if each.drill == key}
    else:
        start = allowed_at_start(drill, state, ladder, ladder.surfaces[0])
        allowed = dict.fromkeys(ladder.surfaces, start)
    return {
        "open": is_open(drill, state),
        "barred": barred(drill, state, ladder, state.day),
        "allowed": {surface: _amount(each) for surface, each in allowed.items()},
        "causes": {surface: each.causes for surface, each in allowed.items() if each.causes},
    }


def _amount(allowed: Allowed) -> int | None:
    return None if allowed.support is None else int(allowed.support)


def _gate_by_drill(reading: Reading) -> dict[str, Data]:
    """For each drill the gate of the lowest closed stage that uses it, else of the last."""
    found: dict[str, Data] = {}
    settled: set[str] = set()
    for stage in all_stages(reading.data):
        for gate in stage["gates"]:
            if gate["kind"] in SHOWN_GATES and gate["drill"] not in settled:
                found[gate["drill"]] = gate
                if stage["open_since"] is None:
                    settled.add(gate["drill"])
    return found


def _progress(gate: Data | None, names: Names) -> Data:
    """Sureness for clean gates; for the others the best value and how far the gate has come."""
    if gate is None:
        return {"sure": None, "best": None}
    said = {"need": gate["need"], "met": gate["met"], "sentence": gate_sentence(names, gate)}
    if gate["kind"] == "clean":
        # Rounded down: 79.9 % must not look like the 80 % that opens a gate.
        value = math.floor(round(gate["value"] * 100, 6)) / 100
        return {"sure": {"value": value, **said}, "best": None}
    best = gate["parts"].get("best", gate["value"])
    return {"sure": None, "best": {"value": best, "share": gate["progress"], **said}}
