"""The rows of a child's record that a sentence of a letter rests on.

Turns that were taken back are shown, as taken back: they count for nothing, and whoever looks for
a turn should find it. Only rows of this child's own records are ever asked for, by a fixed number
of queries for each kind.
"""

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from progression.models import Attempt
from readiness.child.history import (
    Note,
    TurnRow,
    decision_data,
    pain_note,
    told_note,
    turn_rows,
    with_taken_back,
)
from readiness.child.lookup import names_of
from readiness.head.words import knock_text
from readiness.letters.kept.keeping import kept_letters
from readiness.letters.rests_on.words import answer_text, gate_lines, heading
from readiness.letters.sentence import Kind, RestsOn
from readiness.models import Decision, Pain, PainGone, Pause, PauseLift, Placing
from readiness.record.standings import Reading
from readiness.record.told.head_knocks import knocks_of
from readiness.words.decisions import decision_text, placing_text
from readiness.words.pauses import gone_text
from studio.people.consents import consents_of

# The newest of a sentence; more than a term of one drill has.
MOST_TURNS = 400

# A note, after what it may be about.
About = tuple[tuple[str, ...], Note]
Notes = Iterator[About]


@dataclass(frozen=True)
class Day:
    """A day's turns, newest first. opens: shown without a tap."""

    day: datetime.date
    turns: list[TurnRow]
    opens: bool

    @property
    def by(self) -> str:
        """Who logged them, if it was one person; else each turn says it."""
        authors = {turn.by for turn in self.turns}
        return authors.pop() if len(authors) == 1 else ""


@dataclass(frozen=True)
class Part:
    """One thing that a sentence rests on. stage: the code of the stage whose evidence is told."""

    heading: str
    days: Sequence[Day] = ()
    notes: Sequence[Note] = ()
    lines: Sequence[str] = ()
    stage: str = ""
    # Of turns at all drills: each says which.
    names_drills: bool = False

    @property
    def is_empty(self) -> bool:
        return not (self.days or self.notes or self.lines)


@dataclass(frozen=True)
class Rows:
    """What was found; older_left_out: there are more turns than are shown."""

    parts: list[Part]
    older_left_out: bool = False


def rows_of(reading: Reading, rests_on: Sequence[RestsOn]) -> Rows:
    """A part without any row is left out where another has some."""
    turns, left_out = _turns(reading, [each for each in rests_on if each.kind == Kind.TURNS])
    notes = {
        kind: list(NOTES[kind](reading, [each for each in rests_on if each.kind == kind]))
        for kind in NOTES
        if any(each.kind == kind for each in rests_on)
    }
    parts = [_part(reading, each, turns, notes) for each in dict.fromkeys(rests_on)]
    return Rows([part for part in parts if not part.is_empty] or parts[:1], left_out)


def _part(
    reading: Reading,
    each: RestsOn,
    turns: Sequence[TurnRow],
    notes: Mapping[Kind, Sequence[About]],
) -> Part:
    names = names_of(reading)
    title = heading(names, each)
    if each.kind == Kind.GATES:
        lines = gate_lines(names, reading.read.stage(each.about))
        return Part(title, lines=lines, stage=each.about)
    if each.kind == Kind.TURNS:
        own = [turn for turn in turns if each.covers(turn.day, turn.drill_key)]
        return Part(title, days=_by_day(own), names_drills=not each.about)
    own_notes = [note for about, note in notes[each.kind] if each.covers(note.day, *about)]
    return Part(title, notes=sorted(own_notes, key=lambda note: note.at, reverse=True))


def _by_day(turns: Sequence[TurnRow]) -> list[Day]:
    """Newest first; the newest and the oldest are open."""
    days = [(day, list(some)) for day, some in groupby(turns, key=lambda turn: turn.day)]
    ends = {days[0][0], days[-1][0]} if days else set()
    return [Day(day, some, day in ends) for day, some in days]


def _turns(reading: Reading, asked: Sequence[RestsOn]) -> tuple[list[TurnRow], bool]:
    if not asked:
        return [], False
    which = Q()
    for each in asked:
        days = Q(day__range=(each.first, each.last))
        which |= days & Q(drill__key=each.about) if each.about else days
    span = min(each.first for each in asked), max(each.last for each in asked)
    # The span leads the index of a child's days; what it holds too much is left to the rest.
    own = Attempt.objects.filter(which, child__in=reading.record.keys, day__range=span)
    found = turn_rows(names_of(reading), own, MOST_TURNS + 1)
    return found[:MOST_TURNS], len(found) > MOST_TURNS


def _decisions(reading: Reading, asked: Sequence[RestsOn]) -> Notes:
    names, which = names_of(reading), Q()
    for each in asked:
        which |= Q(stage=each.about) | Q(drill__key=each.about)
    rows = _own(reading, Decision).filter(which).select_related("drill", "surface")
    for row in rows:
        drill = row.drill.key if row.drill else ""
        yield (row.stage, drill), _note(row, decision_text(names, decision_data(row)))


def _placings(reading: Reading, _asked: Sequence[RestsOn]) -> Notes:
    names = names_of(reading)
    for row in _own(reading, Placing).select_related("surface"):
        yield (), _note(row, placing_text(names, str(row.stage), row.surface.key))


def _pauses(reading: Reading, _asked: Sequence[RestsOn]) -> Notes:
    """Ordered, lifted, and knocks on the head, each by the day on which it was."""
    names = names_of(reading)
    for row in _own(reading, Pause):
        yield (), _note(row, _("Paused"))
    for row in _own(reading, PauseLift):
        yield (), _note(row, _("Pause lifted"))
    for knock in knocks_of(reading.child).select_related("by"):
        text = knock_text(names, knock.on, knock.elsewhere)
        yield (), Note(knock.at, knock.on, text, "", knock.by.called)


def _pain(reading: Reading, asked: Sequence[RestsOn]) -> Notes:
    names, first = names_of(reading), min(each.first for each in asked)
    for row in with_taken_back(_own(reading, Pain).filter(day__gte=first)):
        yield (), pain_note(names, row)
    for row in _own(reading, PainGone).filter(day__gte=first):
        yield (), told_note(row, gone_text(names, row.place))


def _consent(reading: Reading, _asked: Sequence[RestsOn]) -> Notes:
    names = names_of(reading)
    for answer in consents_of([reading.child])[reading.child.pk]:
        text = answer_text(names, answer)
        yield (), Note(answer.at, answer.day, text, "", answer.seen_by)


def _letters(reading: Reading, asked: Sequence[RestsOn]) -> Notes:
    days = [each.first for each in asked]
    for letter in kept_letters([reading.child]).filter(day__in=days):
        yield (), Note(letter.at, letter.day, _("Printed"), "", letter.by.called)


NOTES: dict[Kind, Callable[[Reading, Sequence[RestsOn]], Notes]] = {
    Kind.DECISIONS: _decisions,
    Kind.PLACINGS: _placings,
    Kind.PAUSES: _pauses,
    Kind.PAIN: _pain,
    Kind.CONSENT: _consent,
    Kind.LETTERS: _letters,
}


def _own(reading: Reading, model: Any) -> "QuerySet[Any]":
    return model.objects.filter(child__in=reading.record.keys).select_related("by")


def _note(row: Any, text: str) -> Note:
    return Note(row.at, row.day, text, row.reason, row.by.called)
