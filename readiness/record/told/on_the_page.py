"""What a coach writes down on a child's page: that what hurt is gone or still there,
who of the family was told and whom they asked for, that the child grows fast or tumbles elsewhere,
and the child's "not tonight".

Shared: used by the child's page.
"""

import datetime
import uuid
from typing import Any

from django.db import transaction

from progression.log.lines import digest_of
from readiness.engine.growing import is_growing
from readiness.engine.support import asked_about
from readiness.models import (
    AskedFor,
    Elsewhere,
    Growing,
    NotTonight,
    Pain,
    PainGone,
    Report,
    Told,
)
from readiness.record.decisions import DecisionRefused
from readiness.record.standings import lock, read, refresh_standings
from readiness.record.told.alerts import alert_classes_of
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
    store_report(table(place=place), locked, by, now, day)


@transaction.atomic
def note_growing(child: Child, by: Staff, now: datetime.datetime, said_by: str, ends: bool) -> None:
    """The child grows fast: a coach's eye, or the word of ``said_by``; or no longer, from the
    next day on."""
    locked, day = _locked(child, by, now)
    reading = read(locked, day)
    if ends != is_growing(reading.read.state, reading.ladder.engine):
        raise DecisionRefused("not-growing" if ends else "growing-already")
    store_report(Growing(said_by=said_by, ends=ends), locked, by, now, day)


@transaction.atomic
def family_told(
    child: Child, by: Staff, now: datetime.datetime, about: str, whom: str, asked_for: str = ""
) -> None:
    """About a place that hurts, a fall, a stop sign or hands again, and whom; ``asked_for``: to
    whom the family would like to speak."""
    locked, day = _locked(child, by, now)
    told = Told(about=about, whom=whom)
    store_report(told, locked, by, now, day)
    if asked_for:
        AskedFor.objects.create(told=told, whom=asked_for)


@transaction.atomic
def note_not_tonight(child: Child, by: Staff, now: datetime.datetime) -> None:
    """The child said so; nobody asks why, and the family does not read it."""
    locked, day = _locked(child, by, now)
    if NotTonight.objects.filter(child__in=locked.records, day=day).exists():
        raise DecisionRefused("said-already")
    store_report(NotTonight(), locked, by, now, day)
    alert_classes_of(locked, day)


@transaction.atomic
def note_elsewhere(
    child: Child, by: Staff, now: datetime.datetime, kind: str, said_by: str, ends: bool
) -> None:
    """Private lessons, or tumbling elsewhere; or no longer."""
    locked, day = _locked(child, by, now)
    known = kind in {each.kind for each in elsewhere_now(locked)}
    if known != ends:
        raise DecisionRefused("said-already")
    store_report(Elsewhere(kind=kind, said_by=said_by, ends=ends), locked, by, now, day)


def elsewhere_now(child: Child) -> list[Elsewhere]:
    """What was said last of each kind and has not ended."""
    rows = Elsewhere.objects.filter(child__in=child.records).order_by("at", "pk")
    last = {each.kind: each for each in rows}
    return [last[kind] for kind in sorted(last) if not last[kind].ends]


def _locked(child: Child, by: Staff, now: datetime.datetime) -> tuple[Child, datetime.date]:
    """The child with its row locked, and the day in the child's hall."""
    if not may_report(by):
        raise DecisionRefused("may-not")
    locked = lock(Child.objects.filter(pk=child.pk)).get()
    return locked, local_today([locked], now)[locked.pk]


def store_report(
    report: Report, child: Child, by: Staff, now: datetime.datetime, day: datetime.date
) -> None:
    """Keep what was told on a page, as of this moment, and read the child again."""
    about: dict[str, Any] = {"child": child, "by": by, "at": now, "received_at": now, "day": day}
    for name, value in about.items():
        setattr(report, name, value)
    report.id = uuid.uuid4()
    report.digest = digest_of(str(report.id))
    report.save(force_insert=True)
    refresh_standings([child], day)
