"""Notes stored, read and erased: none is kept longer than 13 months.

Shared: used by the child page and the floor page.
"""

import calendar
import datetime
import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from readiness.models import Note, ReadyNote
from readiness.notes.words import first_list
from studio.models import Child, Meeting, Staff

KEPT_MONTHS = 13
LONGEST = 200
LONGEST_READY = 60
MOST_READY = 20


@dataclass(frozen=True)
class NewNote:
    """A note as a tablet brings it. ``turn``: the turn that it speaks of, if it is one."""

    id: uuid.UUID
    child: Child
    text: str
    turn: uuid.UUID | None = None


def oldest_kept(today: datetime.date) -> datetime.date:
    """The same day of the month 13 months ago, or the last one of that month."""
    year, month = divmod(today.year * 12 + today.month - 1 - KEPT_MONTHS, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return datetime.date(year, month + 1, min(today.day, last))


@transaction.atomic
def keep_notes(
    notes: Sequence[NewNote], meeting: Meeting, by: Staff, now: datetime.datetime
) -> None:
    """The same note twice is one; with each call what is too old goes."""
    erase_old(now.date())
    Note.objects.bulk_create(
        [
            Note(
                id=note.id,
                child=note.child,
                meeting=meeting,
                turn=note.turn,
                text=note.text,
                by=by,
                day=meeting.date,
                received_at=now,
            )
            for note in notes
        ],
        ignore_conflicts=True,
    )


def erase_old(today: datetime.date) -> int:
    """How many notes were erased."""
    deleted, _tables = Note.objects.filter(day__lt=oldest_kept(today)).delete()
    return deleted


def notes_on(records: Collection[int], today: datetime.date) -> "QuerySet[Note]":
    """The notes on a child, by its records, the latest first."""
    notes = Note.objects.filter(child__in=records, day__gte=oldest_kept(today))
    return notes.select_related("by").order_by("-day", "-received_at", "-pk")


def ready_notes() -> list[str]:
    """The studio's list; until it has one, that of the program."""
    return list(ReadyNote.objects.order_by("pk").values_list("text", flat=True)) or first_list()


@transaction.atomic
def change_ready_notes(texts: Sequence[str]) -> None:
    """These and no others, in this order. Notes that were written stay as they are."""
    ReadyNote.objects.all().delete()
    ReadyNote.objects.bulk_create([ReadyNote(text=text) for text in texts])
