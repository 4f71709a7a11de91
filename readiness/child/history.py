"""What happened to a child lately: faults, turns, and what people decided or reported.

Shared: the evidence page uses decision_data, notes_of, done_today and faults_by_drill; letters use
turn_rows, and the notes of single rows.
"""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _

from progression.models import Attempt, AttemptNote, AttemptQuerySet, Strike
from readiness.child.lookup import names_of
from readiness.engine.support import granted
from readiness.models import (
    Decision,
    Elsewhere,
    FaultTally,
    Growing,
    NotTonight,
    Pain,
    PainGone,
    Pause,
    PauseLift,
    Placing,
    Report,
    Told,
)
from readiness.record.decisions import Decided
from readiness.record.standings import Reading
from readiness.words.decisions import decision_text, from_when, placing_text
from readiness.words.growing import growing_text
from readiness.words.names import Names
from readiness.words.pauses import gone_text, pain_text, told_text
from readiness.words.turns import (
    angles_text,
    flag_text,
    mending_text,
    outcome_text,
    strike_text,
)

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


# A fault, at a drill, on a day, so many times.
FaultSeen = tuple[str, str, datetime.date, int]


def fault_rows(reading: Reading) -> list[FaultRow]:
    """The faults of the last eight weeks, the most frequent first, with what mends them."""
    return _fault_rows(reading, _faults_seen(reading))


def faults_by_drill(reading: Reading) -> dict[str, list[FaultRow]]:
    """The same for each drill at which a fault was seen, the drill with the most faults first."""
    seen: dict[str, list[FaultSeen]] = defaultdict(list)
    for each in _faults_seen(reading):
        seen[each[1]].append(each)
    found = {drill: _fault_rows(reading, seen[drill]) for drill in sorted(seen)}
    order = sorted(found, key=lambda drill: -sum(row.count for row in found[drill]))
    return {drill: found[drill] for drill in order if found[drill]}


def _faults_seen(reading: Reading) -> Iterable[FaultSeen]:
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    tallies = FaultTally.objects.filter(child__in=reading.record.keys, day__gte=since)
    return tallies.values_list("fault", "drill__key", "day", "count")


def _fault_rows(reading: Reading, seen: Iterable[FaultSeen]) -> list[FaultRow]:
    count: Counter[str] = Counter()
    last: dict[str, datetime.date] = {}
    drills: dict[str, set[str]] = defaultdict(set)
    for fault, drill, day, times in seen:
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
    drill_key: str
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
    # What a picture from the side suggested, or empty.
    angles: str = ""


def recent_turns(reading: Reading) -> list[TurnRow]:
    """The last few turns, newest first; a struck one stays readable, with who and why."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    turns = Attempt.objects.filter(child__in=reading.record.keys, day__gte=since)
    return turn_rows(names_of(reading), turns, TURNS_SHOWN)


def turn_rows(names: Names, turns: AttemptQuerySet, most: int) -> list[TurnRow]:
    """So many of these turns at most, newest first, in three queries."""
    found = turns.with_graded_now().select_related("drill", "surface", "author", "angles")
    attempts = list(found.order_by("-day", "-done_at", "-pk")[:most])
    ids = [attempt.pk for attempt in attempts]
    strikes = {
        strike.attempt_id: strike
        for strike in Strike.objects.filter(attempt_id__in=ids).select_related("by")
    }
    notes = dict(AttemptNote.objects.filter(pk__in=ids).values_list("pk", "text"))
    return [
        _turn_row(attempt, strikes.get(attempt.pk), notes.get(attempt.pk) or "", names)
        for attempt in attempts
    ]


def _turn_row(attempt: Attempt, strike: Strike | None, note: str, names: Names) -> TurnRow:
    ladder = names.ladder
    drill = ladder.drills.get(attempt.drill.key, {})
    return TurnRow(
        drill_key=attempt.drill.key,
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
        graded=attempt.graded_now,
        note=note,
        flags=[flag_text(flag) for flag in attempt.flags],
        struck=strike_text(strike.by.called, strike.code) if strike else "",
        angles=_suggested(attempt),
    )


def _suggested(attempt: Attempt) -> str:
    if not hasattr(attempt, "angles"):
        return ""
    read = attempt.angles
    return angles_text(read.suggests, read.chances, read.angles)


@dataclass(frozen=True)
class Note:
    """Something that people decided or reported; from_when: of a decision of today, from when on
    it counts. private: said in confidence, and not printed."""

    at: datetime.datetime
    day: datetime.date
    text: str
    reason: str
    by: str
    from_when: str = ""
    private: bool = False


def notes_of(reading: Reading, confidential: bool = False) -> list[Note]:
    """The latest of what people decided and reported about the child, newest first.

    confidential: with what the child said in confidence.
    """
    child, names = reading.child, names_of(reading)
    notes = _decision_notes(reading)
    for placing in Placing.objects.filter(child__in=child.records).select_related("by", "surface"):
        text = placing_text(names, str(placing.stage), placing.surface.key)
        notes.append(_note(names, placing, text, from_when(names, "placing")))
    for pause in Pause.objects.filter(child__in=child.records).select_related("by"):
        notes.append(_note(names, pause, _("Paused"), from_when(names, "pause")))
    for lift in PauseLift.objects.filter(child__in=child.records).select_related("by"):
        notes.append(_note(names, lift, _("Pause lifted"), ""))
    notes += _report_notes(reading)
    if confidential:
        for said in _latest(NotTonight.objects.filter(child__in=reading.record.keys)):
            told = told_note(said, _("Said “not tonight”, in confidence"))
            notes.append(replace(told, private=True))
    return sorted(notes, key=lambda note: note.at, reverse=True)[:NOTES_SHOWN]


def not_tonight_days(reading: Reading) -> list[datetime.date]:
    """The days of the last eight weeks on which the child said "not tonight", the last first."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    said = NotTonight.objects.filter(child__in=reading.record.keys, day__gte=since)
    return sorted(set(said.values_list("day", flat=True)), reverse=True)


def _report_notes(reading: Reading) -> Iterator[Note]:
    """What hurt, what is gone, and who of the family was told."""
    names = names_of(reading)
    for pain in _latest(with_taken_back(Pain.objects.filter(child__in=reading.record.keys))):
        yield pain_note(names, pain)
    for gone in _latest(PainGone.objects.filter(child__in=reading.record.keys)):
        yield told_note(gone, gone_text(names, gone.place))
    for each in _latest(Growing.objects.filter(child__in=reading.record.keys)):
        yield told_note(each, growing_text(each.ends, each.said_by))
    for each in _latest(Elsewhere.objects.filter(child__in=reading.record.keys)):
        text = str(each.get_kind_display())
        yield told_note(each, _("No longer: %(what)s") % {"what": text} if each.ends else text)
    of_family = Told.objects.filter(child__in=reading.record.keys).select_related("asked_for")
    for told in _latest(of_family):
        yield told_note(told, told_text(names, told.about, told.whom, asked_for_of(told)))


def asked_for_of(told: Told) -> str:
    """Whom the family asked for, or empty."""
    return told.asked_for.whom if hasattr(told, "asked_for") else ""


def with_taken_back(pains: "QuerySet[Any]") -> "QuerySet[Any]":
    """With ``struck``: by whom a pain was taken back; None if by nobody."""
    struck = Strike.objects.filter(attempt_id=OuterRef("pk")).values("by__first_name")[:1]
    return pains.annotate(struck=Subquery(struck))


def pain_note(names: Names, pain: Any) -> Note:
    """Of a row that was asked for with ``with_taken_back``."""
    text = pain_text(names, pain.place)
    if pain.struck is not None:
        text = _("%(what)s (taken back by %(by)s)") % {"what": text, "by": pain.struck}
    return told_note(pain, text)


def told_note(report: Report, text: str) -> Note:
    return Note(report.at, report.day, text, "", report.by.called)


def _latest(reports: "QuerySet[Any]") -> "QuerySet[Any]":
    return reports.select_related("by").order_by("-at", "-pk")[:NOTES_SHOWN]


def done_today(notes: Iterable[Note]) -> list[Note]:
    """What was decided today, oldest first, that counts."""
    return [note for note in notes if note.from_when][::-1]


def _decision_notes(reading: Reading) -> list[Note]:
    names, notes = names_of(reading), []
    decisions = Decision.objects.filter(child__in=reading.record.keys).select_related(
        "by", "drill", "surface"
    )
    # A stage that was closed after it was signed is not signed.
    closed = set()
    for decision in decisions.order_by("-at", "-pk")[:NOTES_SHOWN]:
        text = decision_text(names, decision_data(decision))
        if decision.kind == Decision.Kind.STEP:
            when = _step_from_when(reading, decision)
        else:
            when = from_when(names, decision.kind)
        if decision.kind == Decision.Kind.SIGN:
            if decision.stage in closed:
                when = ""
            elif reading.read.state.paused_since is not None:
                when = from_when(names, "step-paused")
        if decision.kind in (Decision.Kind.SEND_BACK, Decision.Kind.CLOSE):
            closed.add(decision.stage)
        notes.append(_note(names, decision, text, when))
    return notes


def _step_from_when(reading: Reading, step: Decision) -> str:
    """A step of today counts if it is still earned; one that was given without a tap stays."""
    names, state = names_of(reading), reading.read.state
    drill, support = step.drill.key if step.drill else "", step.support
    known = reading.ladder.engine.drills.get(drill)
    given = {each.support for each in granted(known, state)} if known else set()
    if state.way_back(drill) is None and support in given:
        return from_when(names, "step-stays")
    if state.paused_since is not None:
        return from_when(names, "step-paused")
    still = (drill, support) in {(tap.drill, tap.support) for tap in reading.read.taps}
    return from_when(names, "step" if still else "step-lost")


def _note(names: Names, decided: Decided | Pause, text: str, when: str) -> Note:
    is_today = decided.day == names.day
    about = decided.at, decided.day, text, decided.reason, decided.by.called
    return Note(*about, when if is_today else "")


def decision_data(decision: Decision) -> dict[str, Any]:
    """The codes that a decision's sentence names."""
    return {
        "kind": decision.kind,
        "stage": decision.stage,
        "drill": decision.drill.key if decision.drill else None,
        "support": decision.support,
        "surface": decision.surface.key if decision.surface else None,
    }
