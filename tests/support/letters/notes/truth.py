"""All notes for the door that evenings of an invented studio could have had, in all languages."""

import datetime
import uuid
from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from readiness.door_note.page import draft_of, note_form, versions_of
from readiness.models import Fell, HeadKnock, IncidentAccount
from readiness.record.standings import Reading
from readiness.record.told.door_notes import Tonight, tonight_of
from studio.models import Child, Staff
from studio.people.today import local_today, zone_of
from tests.support.letters.notes.event import Event
from tests.support.letters.notes.judge import NoteJudge
from tests.support.letters.notes.lies import lies
from tests.support.letters.notes.table import NoteTable
from tests.support.letters.record import DAY, RawRecord
from tests.support.letters.table import LANGUAGES
from tests.support.letters.truth import Told, children_of

# So far back evenings are read.
LATELY = 84 * DAY
TOLD = "Ilva Tormento"
SAID = {"adult": "else", "other": TOLD, "did": "shapes", "nothing_hurts": "on"}


class NoteReader:
    """Reads notes; what it read is added up in ``told``. each: of how many notes of a kind in a
    language the claims are altered."""

    def __init__(self, told: Told, content: dict[str, Any], staff: Staff, each: int) -> None:
        self.told, self.staff, self.each = told, staff, each
        self.given = {"coach": staff.called, "told": TOLD, "did": SAID["did"], "hurts": "nothing"}
        self.tables = {name: NoteTable(name, content) for name in LANGUAGES}
        self.lied: dict[tuple[str, str], int] = {}

    def read(self, whole: RawRecord) -> None:
        """All notes that could be written on the evening of the record's day."""
        reading = whole.read_on(whole.today)
        for what in tonight_of(reading):
            event = Event(whole, what.kind, what.start, self.given)
            for language in LANGUAGES:
                self._judge(event, language, self._words(what, reading, language))

    def _words(self, what: Tonight, reading: Reading, language: str) -> str:
        """In that language: without the English below it."""
        child = reading.child
        child.letter_language = language
        form = note_form(what, child, {"token": str(uuid.uuid4()), **SAID})
        with timezone.override(zone_of(child)):
            draft = draft_of(what, reading, form, self.staff)
        first = versions_of(draft.words)[0]
        parts = ["\n".join([text, *(f"· {line}" for line in lines)]) for text, lines in first]
        return "\n\n".join(parts).replace("\u00a0", " ")

    def _judge(self, event: Event, language: str, words: str) -> None:
        judge = NoteJudge(event, self.tables[language])
        wrong = judge.objections(words)
        name = f"{language} {event.record.child.name} {event.record.today}"
        self.told.wrong += [f"{name}: note: {text}" for text in wrong]
        self.told.notes[language] += 1
        claims = judge.claims(words)
        self.told.sentences[language] += len(claims)
        self.told.claims[language] += sum(len(each.said.values) or 1 for each in claims)
        told = self.lied.setdefault((language, event.kind), 0)
        if not wrong and told < self.each:
            self.lied[language, event.kind] += 1
            self._lie(judge, words, language)

    def _lie(self, judge: NoteJudge, words: str, language: str) -> None:
        for claim in judge.claims(words):
            for what, false in lies(words, claim, judge.event, judge.table):
                self.told.lies[language] += 1
                self.told.altered[what] += 1
                if not judge.objections(false):
                    self.told.missed.append(f"{language} {what} in a note: {claim.said.text}")


def evenings(child: Child, today: datetime.date) -> Iterator[RawRecord]:
    """The record on each day on which something was seen that a note may be about."""
    record = RawRecord(child, today)
    stops = {row["key"] for row in record.content["fault"] if row["stop"] != "no"}
    seen = [row.day for row in record.turns.rows if row.caught or stops.intersection(row.faults)]
    told = [row.day for model in (Fell, HeadKnock, IncidentAccount) for row in record.rows(model)]
    for day in sorted({*seen, *told}):
        if today - LATELY < day <= today:
            yield RawRecord(child, day, record.read_days)


def read_notes(told: Told, now: datetime.datetime, group: str | None = None, each: int = 0) -> None:
    """Of the children of a class, or of all. each: see NoteReader."""
    children = children_of(group)
    director = Staff.objects.filter(role=Staff.Role.DIRECTOR).order_by("pk")[0]
    days = local_today(children, now)
    content = RawRecord(children[0], days[children[0].pk]).content
    reader = NoteReader(told, content, director, each)
    for child in children:
        for record in evenings(child, days[child.pk]):
            reader.read(record)
