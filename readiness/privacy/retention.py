"""What has been kept long enough, by the studio's rules: counted, and let go.

Shared: used by the command ``retention``.
"""

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db.models import Q, QuerySet
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _

from progression.log.rejected import DAY, KEPT_DAYS
from progression.models import RejectedLine
from readiness.models import Erasure, Note
from readiness.notes.keeping import oldest_kept
from readiness.record.privacy.erasing import ask
from readiness.record.privacy.keeping import years_after
from studio.imports.undo import KEPT
from studio.models import BroughtIn, Child, ImportDraft

Rows = Callable[[datetime.datetime], "QuerySet[Any]"]


@dataclass(frozen=True)
class Rule:
    """``rows``: those that have been kept long enough by then."""

    title: Lazy
    rows: Rows


def _uploads(now: datetime.datetime) -> "QuerySet[ImportDraft]":
    return ImportDraft.objects.filter(created_at__lt=now - KEPT)


def _undoable(now: datetime.datetime) -> "QuerySet[BroughtIn]":
    return BroughtIn.objects.filter(at__lt=now - KEPT).exclude(done={})


DELETED: Sequence[Rule] = (
    Rule(
        _("Notes on children, of more than 13 months ago"),
        lambda now: Note.objects.filter(day__lt=oldest_kept(now.date())),
    ),
    Rule(
        _("Refused lines of tablets, of more than 90 days ago"),
        lambda now: RejectedLine.objects.filter(received_at__lt=now - KEPT_DAYS * DAY),
    ),
    Rule(_("Files that were brought in, of more than 28 days ago"), _uploads),
    Rule(_("Sign-ins that have ended"), lambda now: Session.objects.filter(expire_date__lt=now)),
)


def left_long_ago(now: datetime.datetime) -> "QuerySet[Child]":
    """Children who left longer ago than the studio keeps them, and are not put up to be erased
    yet; none where the studio has no such rule."""
    if settings.LEFT_KEPT_YEARS is None:
        return Child.objects.none()
    last = years_after(now.date(), -settings.LEFT_KEPT_YEARS)
    # What somebody took back stays: the rule asks once.
    asked = Erasure.objects.filter(Q(by=None) | Q(done=None) | Q(done=True)).values("child")
    left = Child.objects.filter(merged_into=None, left_on__lt=last).exclude(pk__in=asked)
    return left.order_by("left_on", "pk")


def let_go(now: datetime.datetime) -> None:
    """What goes by itself goes; who left long ago is put up for a director's yes."""
    for rule in DELETED:
        rule.rows(now).delete()
    _undoable(now).update(done={})
    for child in left_long_ago(now):
        ask(child, None, now)
