"""What the pages of door notes show: what may be told tonight, one note, and those given."""

import hashlib
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import translation
from django.utils.translation import gettext as _

from readiness.child.lookup import names_of
from readiness.door_note.forms import NoteForm
from readiness.door_note.words import (
    BETWEEN_LANGUAGES,
    DID,
    date_text,
    note_words,
    seen_text,
    time_text,
)
from readiness.letters.ladder_words import name_and_what, told
from readiness.letters.languages.reading import letter_languages
from readiness.letters.letter import language_of
from readiness.models import DoorNote
from readiness.record.standings import Reading
from readiness.record.told.door_notes import Tonight, meeting_of, notes_given, tonight_of
from studio.halls.emergency import emergency_of
from studio.models import Child, Location, Staff
from studio.people.children import family_of
from studio.people.class_lists import classes_of
from studio.people.language import ENGLISH, language_name
from studio.people.told_apart import full_name, who


@dataclass(frozen=True)
class Offer:
    """A note that may be written tonight, and whether one was given already."""

    what: Tonight
    label: str
    drill: str
    time: str
    given: bool


def list_context(reading: Reading) -> dict[str, object]:
    child, names = reading.child, names_of(reading)
    given = list(notes_given(child))
    starts = {note.start for note in given}
    offers = [
        Offer(
            what=each,
            label=str(DoorNote.Kind(each.kind).label),
            drill=names.drill(each.drill) if each.drill else "",
            time=time_text(each.time),
            given=each.start in starts,
        )
        for each in tonight_of(reading)
    ]
    about = who(child, reading.read.day)
    return {"child": child, "who": about, "offers": offers, "given": given}


def find(reading: Reading, kind: str, start: uuid.UUID) -> Tonight | None:
    found = (each for each in tonight_of(reading) if (each.kind, each.start) == (kind, start))
    return next(found, None)


def note_form(what: Tonight, child: Child, data: Any = None) -> NoteForm:
    return NoteForm(what.kind, family_of(child), child.guardian.strip(), data)


@dataclass(frozen=True)
class Draft:
    """A note as it would be given. ``missing``: what staff is told before it is printed; ``mark``:
    tells whether its words are the same."""

    words: str
    missing: Sequence[str]

    @property
    def mark(self) -> str:
        return hashlib.sha256(self.words.encode()).hexdigest()


def draft_of(what: Tonight, reading: Reading, form: NoteForm, staff: Staff) -> Draft:
    """As of now, in the family's language and below it in the studio's. Times are those of the
    zone that is in force."""
    meeting = meeting_of(what)
    hall = meeting.hall if meeting else _hall_of(reading.child)
    about = {
        "time": time_text(what.time),
        "class": meeting.group.name if meeting else "",
        "hall": hall.name if hall else "",
        "full_name": full_name(reading.child),
        "name": reading.child.called,
        "coach": staff.called,
        "told": form.told or "…",
        "phone": hall.phone if hall else "",
        "emergency": emergency_of(hall).number if hall else "",
    }
    language = language_of(reading.child)
    words = []
    for each in dict.fromkeys([language, ENGLISH]):
        # What tells two of one name apart is in English.
        name = about["full_name"] if each == ENGLISH else reading.child.name
        with translation.override(each):
            told_in = about | {"full_name": name} | _happened(what, reading, form)
            words.append(note_words(what.kind, told_in))
    return Draft(
        BETWEEN_LANGUAGES.join(words),
        [*_missing(hall), *_unread(language), *_lacking(language, what, reading)],
    )


def _happened(what: Tonight, reading: Reading, form: NoteForm) -> dict[str, object]:
    """What is said in the language that is active."""
    said: dict[str, Any] = form.cleaned_data if form.is_bound and form.is_valid() else {}
    rule = reading.ladder.engine.head
    return {
        "date": date_text(reading.read.day),
        "drill": _drill_for_families(what.drill, reading) if what.drill else "",
        "seen": seen_text(what.faults),
        "did": str(DID[said["did"]]) if said.get("did") else "",
        "nothing_hurts": said.get("nothing_hurts", False),
        "clear_days": rule.clear_days,
        "full_day": rule.full_return_day,
    }


def _drill_for_families(drill: str, reading: Reading) -> str:
    """By its name; in another language as letters call it."""
    name = names_of(reading).drill(drill)
    if translation.get_language() == ENGLISH:
        return name
    return name_and_what(told(reading.ladder.drills.get(drill, {}), "letter") or name)[0]


def _lacking(language: str, what: Tonight, reading: Reading) -> list[str]:
    """What staff is told of a drill that stands in the ladder's own words among translated ones."""
    if not what.drill:
        return []
    with translation.override(language):
        if told(reading.ladder.drills.get(what.drill, {}), "letter") is not None:
            return []
    return [
        _(
            "The ladder has no words in %(language)s for what this note names, so its own words "
            "stand in it: %(names)s."
        )
        % {"language": language_name(language), "names": names_of(reading).drill(what.drill)}
    ]


def _unread(language: str) -> list[str]:
    """What staff is told of a translation that nobody at home in the language has read."""
    if all(
        each.read or not each.is_translated for each in letter_languages() if each.code == language
    ):
        return []
    return [
        _("Nobody at home in %(language)s has read these sentences. English stands below them.")
        % {"language": language_name(language)}
    ]


def _hall_of(child: Child) -> Location | None:
    groups = classes_of([child])[child.pk]
    return groups[0].location if groups else None


def _missing(hall: Location | None) -> list[str]:
    """What the note cannot say, a sentence each."""
    if hall is None:
        return [_("This child is in no class: no telephone and no emergency number is known here.")]
    said, about = [], {"hall": hall.name, "number": hall.emergency_number}
    if not hall.phone:
        said.append(
            _(
                "%(hall)s: no telephone for families is entered. The note does not say whom to "
                "call with a question: write it in by hand."
            )
            % about
        )
    if not hall.emergency_number:
        said.append(
            _("%(hall)s: no emergency number is entered. Write it into the note by hand.") % about
        )
    elif hall.confirmed_on is None:
        said.append(
            _("%(hall)s: the emergency number, %(number)s, is not confirmed. Look at it first.")
            % about
        )
    return said


def versions_of(words: str) -> list[list[tuple[str, list[str]]]]:
    """Of each language the paragraphs, each with the lines of its list."""
    return [_parts_of(each) for each in words.split(BETWEEN_LANGUAGES)]


def _parts_of(words: str) -> list[tuple[str, list[str]]]:
    found = []
    for part in words.split("\n\n"):
        first, *lines = part.split("\n")
        found.append((first, [line.removeprefix("· ") for line in lines]))
    return found
