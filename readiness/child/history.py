"""What happened to a child lately: faults, turns, and what people decided or reported.

Shared: the evidence page uses decision_data.
"""

import datetime
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from progression.models import Attempt, Strike
from readiness.child.lookup import names_of
from readiness.models import Decision, FaultTally, Pain, Pause, PauseLift, Placing
from readiness.record.standings import Reading
from readiness.words.decisions import decision_text, placing_text
from readiness.words.names import Names
from readiness.words.pauses import pain_text
from readiness.words.turns import flag_text, mending_text, outcome_text, strike_text

# "Lately" on this page: eight weeks.
LATELY_DAYS = 56
TURNS_SHOWN = 12
NOTES_SHOWN = 12


@dataclass(frozen=True)
class FaultRow:
    sees: str
    leads_to: str
    root: str
    stop: bool
    count: int
    last: datetime.date
    drills: str
    mend: list[str]


def fault_rows(reading: Reading) -> list[FaultRow]:
    """The faults of the last eight weeks, the most frequent first, with what mends them."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    tallies = FaultTally.objects.filter(child=reading.child, day__gte=since)
    count: Counter[str] = Counter()
    last: dict[str, datetime.date] = {}
    drills: dict[str, set[str]] = defaultdict(set)
    for fault, drill, day, times in tallies.values_list("fault", "drill__key", "day", "count"):
        count[fault] += times
        last[fault] = max(day, last.get(fault, day))
        drills[fault].add(drill)
    names, ladder = names_of(reading), reading.ladder
    return [
        FaultRow(
            sees=ladder.faults[key]["sees"],
            leads_to=ladder.faults[key]["leads_to"],
            root=ladder.strand_names[ladder.faults[key]["root"]],
            stop=ladder.faults[key]["stop"] == "yes",
            count=times,
            last=last[key],
            drills=", ".join(names.drill(drill) for drill in sorted(drills[key])),
            mend=[mending_text(names, mend) for mend in ladder.faults[key]["mend"]],
        )
        for key, times in sorted(count.items(), key=lambda item: (-item[1], item[0]))
        if key in ladder.faults
    ]


@dataclass(frozen=True)
class TurnRow:
    day: datetime.date
    at: datetime.datetime
    drill: str
    surface: str
    support: int | None
    outcome: str
    clean: bool | None
    faults: list[str]
    by: str
    graded: bool
    note: str
    flags: list[str]
    struck: str


def recent_turns(reading: Reading) -> list[TurnRow]:
    """The last few turns, newest first; a struck one stays readable, with who and why."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    attempts = list(
        Attempt.objects.filter(child=reading.child, day__gte=since)
        .select_related("drill", "surface", "author")
        .order_by("-day", "-done_at", "-pk")[:TURNS_SHOWN]
    )
    strikes = {
        strike.attempt_id: strike
        for strike in Strike.objects.filter(
            attempt_id__in=[attempt.pk for attempt in attempts]
        ).select_related("by")
    }
    names = names_of(reading)
    return [_turn_row(attempt, strikes.get(attempt.pk), names) for attempt in attempts]


def _turn_row(attempt: Attempt, strike: Strike | None, names: Names) -> TurnRow:
    ladder = names.ladder
    drill = ladder.drills.get(attempt.drill.key, {})
    return TurnRow(
        day=attempt.day,
        at=attempt.done_at,
        drill=names.drill(attempt.drill.key),
        surface=names.surface(attempt.surface.key),
        support=attempt.support if drill.get("support_logged") else None,
        outcome=outcome_text(
            names, attempt.drill.key, attempt.clean, attempt.value, attempt.caught
        ),
        clean=attempt.clean,
        faults=[ladder.faults[key]["sees"] for key in attempt.faults if key in ladder.faults],
        by=attempt.author.called,
        graded=attempt.graded,
        note=attempt.note,
        flags=[flag_text(flag) for flag in attempt.flags],
        struck=strike_text(strike.by.called, strike.code) if strike else "",
    )


@dataclass(frozen=True)
class Note:
    """Something that people decided or reported."""

    at: datetime.datetime
    day: datetime.date
    text: str
    reason: str
    by: str


def notes_of(reading: Reading) -> list[Note]:
    """The latest of what people decided and reported about the child, newest first."""
    child, names = reading.child, names_of(reading)
    notes = [
        Note(
            decision.at,
            decision.day,
            decision_text(names, decision_data(decision)),
            decision.reason,
            decision.by.called,
        )
        for decision in Decision.objects.filter(child=child)
        .select_related("by", "drill", "surface")
        .order_by("-at", "-pk")[:NOTES_SHOWN]
    ]
    for placing in Placing.objects.filter(child=child).select_related("by", "surface"):
        text = placing_text(names, str(placing.stage), placing.surface.key)
        notes.append(Note(placing.at, placing.day, text, placing.reason, placing.by.called))
    for pause in Pause.objects.filter(child=child).select_related("by"):
        notes.append(Note(pause.at, pause.day, _("Paused"), pause.reason, pause.by.called))
    for lift in PauseLift.objects.filter(child=child).select_related("by"):
        notes.append(Note(lift.at, lift.day, _("Pause lifted"), lift.reason, lift.by.called))
    for pain in Pain.objects.filter(child=child).select_related("by").order_by("-at")[:NOTES_SHOWN]:
        notes.append(Note(pain.at, pain.day, pain_text(names, pain.place), "", pain.by.called))
    return sorted(notes, key=lambda note: note.at, reverse=True)[:NOTES_SHOWN]


def decision_data(decision: Decision) -> dict[str, Any]:
    """The codes that a decision's sentence names."""
    return {
        "kind": decision.kind,
        "stage": decision.stage,
        "drill": decision.drill.key if decision.drill else None,
        "support": decision.support,
        "surface": decision.surface.key if decision.surface else None,
    }
