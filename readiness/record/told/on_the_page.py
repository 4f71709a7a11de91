"""What a coach writes down on a child's page: that what hurt is gone or still there,
who of the family was told, that the child grows fast.

Shared: used by the child's page.
"""

import datetime
import uuid
from typing import Any

from django.db import transaction

from progression.log.lines import digest_of
from readiness.engine.growing import is_growing
from readiness.engine.support import asked_about
from readiness.models import FamilyTold, Growing, Pain, PainGone, Report
from readiness.record.decisions import DecisionRefused
from readiness.record.standings import lock, read, refresh_standings
from studio.access import may_report
from studio.models import Child, Staff
from studio.people.today import local_today


@transaction.atomic
def answer_about_pain(
    child: Child, by: Staff, now: datetime.datetime, place: str, answer: str
) -> None:
    """Gone, or still there: about a place that hurt on an earlier day and is asked about."""
    locked, day = _locked(child, by, now)
    reading = read(locked, day)
    if place not in asked_about(reading.read.state, reading.ladder.engine):
        raise DecisionRefused("not-asked")
    table = PainGone if answer == "gone" else Pain
    _store(table(place=place), locked, by, now, day)


@transaction.atomic
def note_growing(child: Child, by: Staff, now: datetime.datetime, said_by: str, ends: bool) -> None:
    """The child grows fast: a coach's eye, or the word of ``said_by``; or no longer, from the
    next day on."""
    locked, day = _locked(child, by, now)
    reading = read(locked, day)
    if ends != is_growing(reading.read.state, reading.ladder.engine):
        raise DecisionRefused("not-growing" if ends else "growing-already")
    _store(Growing(said_by=said_by, ends=ends), locked, by, now, day)


@transaction.atomic
def family_told(child: Child, by: Staff, now: datetime.datetime, what: str, whom: str) -> None:
    """Of a place that hurts or of a fall, and whom."""
    locked, day = _locked(child, by, now)
    _store(FamilyTold(what=what, whom=whom), locked, by, now, day)


def _locked(child: Child, by: Staff, now: datetime.datetime) -> tuple[Child, datetime.date]:
    """The child with its row locked, and the day in the child's hall."""
    if not may_report(by):
        raise DecisionRefused("may-not")
    locked = lock(Child.objects.filter(pk=child.pk)).get()
    return locked, local_today([locked], now)[locked.pk]


def _store(
    report: Report, child: Child, by: Staff, now: datetime.datetime, day: datetime.date
) -> None:
    about: dict[str, Any] = {"child": child, "by": by, "at": now, "received_at": now, "day": day}
    for name, value in about.items():
        setattr(report, name, value)
    report.id = uuid.uuid4()
    report.digest = digest_of(str(report.id))
    report.save(force_insert=True)
    refresh_standings([child], day)
