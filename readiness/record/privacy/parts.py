"""Every table that holds something of a child: how its rows are found, and what of them is words.

The one list for the export and for erasing (erasing.py). A table with a key to a child that is not
here fails tests/readiness/record/privacy/test_every_part.py. Shared: used by the pages of privacy.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.db.models import Model, Q, QuerySet
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _

from progression.models import (
    Attempt,
    AttemptNote,
    AttemptProof,
    Confirmation,
    LineResolution,
    RejectedLine,
    Strike,
)
from readiness import models as told
from readiness.models import Report
from studio import models as studio
from studio.models import Child

Rows = Callable[["QuerySet[Child, Any]"], "QuerySet[Any, Any]"]


@dataclass(frozen=True)
class Part:
    """``words``: the columns that erasing empties; ``goes``: the rows go altogether; ``printed``:
    it stands in what is printed to be read, too; ``in_confidence``: a child said it to staff."""

    title: Lazy
    model: type[Model]
    rows: Rows
    words: Sequence[str] = ()
    goes: bool = False
    printed: bool = True
    in_confidence: bool = False


def _part(title: Lazy, model: type[Model], path: str = "child", **about: Any) -> Part:
    return Part(title, model, partial(_by_path, model, path), **about)


def _by_path(model: type[Model], path: str, records: "QuerySet[Child, Any]") -> "QuerySet[Any]":
    return model._default_manager.filter(**{f"{path}__in": records}).order_by("pk")


def _notes_at_turns(records: "QuerySet[Child, Any]") -> "QuerySet[AttemptNote]":
    turns = Attempt.objects.filter(child__in=records)
    return AttemptNote.objects.filter(attempt_id__in=turns.values("pk")).order_by("pk")


def _strikes(records: "QuerySet[Child, Any]") -> "QuerySet[Strike]":
    """Of turns, and of whatever else was told on the floor."""
    about = Q()
    tables: list[type[Model]] = [Attempt, *Report.__subclasses__()]
    for model in tables:
        rows = model._default_manager.filter(child__in=records)
        about |= Q(attempt_id__in=rows.values("pk"))
    return Strike.objects.filter(about).order_by("pk")


def _refused(records: "QuerySet[Child, Any]") -> "QuerySet[RejectedLine]":
    """Lines that name a record by its public id, wherever in the line."""
    about = Q(pk=None)
    for uuid in Child.objects.filter(pk__in=records).values_list("uuid", flat=True):
        about |= Q(body__contains=str(uuid))
    return RejectedLine.objects.filter(about).order_by("pk")


def _resolved(records: "QuerySet[Child, Any]") -> "QuerySet[LineResolution]":
    return LineResolution.objects.filter(line__in=_refused(records).values("pk")).order_by("pk")


PARTS: Sequence[Part] = (
    _part(_("Family"), studio.Contact, goes=True),
    _part(_("Family among the staff"), studio.FamilyOnStaff, words=["staff"]),
    _part(_("Answers to a coach’s hands"), studio.SpottingConsent, words=["guardian", "seen_by"]),
    _part(_("Answers to pictures"), studio.PictureConsent, words=["guardian", "seen_by"]),
    _part(_("Came into a class, or left it"), studio.ClassListChange),
    _part(_("In a class"), studio.ClassGroup.children.through, printed=False, goes=True),
    _part(_("There, or not"), studio.Attendance),
    _part(_("Guest of another class"), studio.MeetingVisit),
    _part(_("Records that are one child’s"), studio.Merge, "loser"),
    _part(_("Said to be two children"), studio.NotDouble, "one", printed=False),
    _part(_("Said to be two children"), studio.NotDouble, "other", printed=False),
    _part(_("Placed"), told.Placing, words=["reason"]),
    _part(_("Decided"), told.Decision, words=["reason"]),
    _part(_("Paused"), told.Pause, words=["reason"]),
    _part(_("Pause lifted"), told.PauseLift, words=["reason"]),
    _part(_("Where it hurt"), told.Pain),
    _part(_("Where it hurt no longer"), told.PainGone),
    _part(_("Growing fast"), told.Growing, words=["said_by"]),
    _part(_("Fell"), told.Fell),
    _part(_("“No hands tonight”"), told.NoHands),
    _part(_("“Not tonight”"), told.NotTonight, in_confidence=True),
    _part(_("Tumbles elsewhere"), told.Elsewhere, words=["said_by"]),
    _part(_("Knocks on the head"), told.HeadKnock),
    _part(_("Symptoms after a knock"), told.Symptom, "knock__child"),
    _part(_("Cleared after a knock"), told.Clearance, "knock__child", words=["cleared_by"]),
    _part(_("Steps after a knock"), told.StepGiven, "knock__child", words=["said_by"]),
    _part(_("The family was told"), told.Told, words=["whom"]),
    _part(_("The family asked for"), told.AskedFor, "told__child", words=["whom"]),
    _part(_("Notes for the door"), told.DoorNote, "told__child", words=["given_to", "words"]),
    _part(_("What happened"), told.IncidentAccount, words=["mats", "what", "first_aid"]),
    _part(
        _("What happened, added later"),
        told.IncidentAddition,
        "account__child",
        words=["text"],
    ),
    _part(_("Notes"), told.Note, goes=True),
    _part(_("Turns, by day"), told.DayTally),
    _part(_("Faults, by day"), told.FaultTally),
    _part(_("Turns"), Attempt, printed=False),
    Part(_("Notes at turns"), AttemptNote, _notes_at_turns, words=["text"]),
    Part(_("Taken back"), Strike, _strikes),
    _part(_("What says whose turn it is"), AttemptProof, "attempt__child", printed=False),
    _part(_("Turns confirmed"), Confirmation, "attempt__child", printed=False),
    Part(_("Refused lines"), RejectedLine, _refused, goes=True, printed=False),
    Part(_("Refused lines, answered"), LineResolution, _resolved, goes=True, printed=False),
    _part(_("Angles read beside a grade"), told.AttemptAngles, "attempt__child", printed=False),
    _part(_("Graded a second time"), told.SecondGrade, "attempt__child", printed=False),
    _part(_("In evidence hours"), told.HourChild),
    _part(_("At stations"), told.StationPlace, printed=False),
    _part(_("In shows"), told.ShowEntry),
    _part(_("Letters"), told.PrintedLetter, words=["file", "own"]),
    _part(_("Letters given"), told.LetterGiven, "letter__child"),
    _part(_("The next letter"), told.LetterDraft, goes=True),
    _part(_("Letters printed together"), told.LetterInRun, goes=True, printed=False),
    _part(_("Where the child stands, as worked out"), told.Standing, goes=True, printed=False),
    _part(_("Who looked at the evidence"), told.Look, goes=True, printed=False),
    _part(_("To be erased"), told.Erasure, printed=False),
)
