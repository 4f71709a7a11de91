"""What the pages of door notes show: what may be told tonight, one note, and those given."""

import hashlib
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from readiness.child.lookup import names_of
from readiness.door_note.forms import NoteForm
from readiness.door_note.words import DID, date_text, note_words, seen_text, time_text
from readiness.models import DoorNote
from readiness.record.standings import Reading
from readiness.record.told.door_notes import Tonight, meeting_of, notes_given, tonight_of
from studio.halls.emergency import emergency_of
from studio.models import Child, Location, Staff
from studio.people.children import family_of
from studio.people.class_lists import classes_of
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
    """As of now. Times are those of the zone that is in force."""
    child, names = reading.child, names_of(reading)
    said: dict[str, Any] = form.cleaned_data if form.is_bound and form.is_valid() else {}
    meeting = meeting_of(what)
    hall = meeting.hall if meeting else _hall_of(child)
    rule = reading.ladder.engine.head
    values = {
        "date": date_text(reading.read.day),
        "time": time_text(what.time),
        "class": meeting.group.name if meeting else "",
        "hall": hall.name if hall else "",
        "full_name": full_name(child),
        "name": child.called,
        "coach": staff.called,
        "told": form.told or "…",
        "drill": names.drill(what.drill) if what.drill else "",
        "seen": seen_text(what.faults),
        "did": str(DID[said["did"]]) if said.get("did") else "",
        "nothing_hurts": said.get("nothing_hurts", False),
        "phone": hall.phone if hall else "",
        "emergency": emergency_of(hall).number if hall else "",
        "clear_days": rule.clear_days,
        "full_day": rule.full_return_day,
    }
    return Draft(note_words(what.kind, values), _missing(hall))


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


def parts_of(words: str) -> list[tuple[str, list[str]]]:
    """The paragraphs, each with the lines of its list."""
    found = []
    for part in words.split("\n\n"):
        first, *lines = part.split("\n")
        found.append((first, [line.removeprefix("· ") for line in lines]))
    return found
