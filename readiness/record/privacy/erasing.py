"""A child is erased: what says who it was goes, the counts stay under a record without a name.

It cannot be taken back, so two people do it: one asks, another says yes (two_people/second_yes.py).
What is only added to keeps its rows; of them only words become empty (studio/db/append_only.py).
What happened to the child keeps everything until its time is over (keeping.py).
"""

import datetime
import logging
import uuid
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from readiness.models import Erasure
from readiness.record.privacy.keeping import kept_for
from readiness.record.privacy.parts import PARTS
from readiness.record.standings import lock
from readiness.record.two_people.second_yes import NotAnswered, why_not_yet
from studio.access import may_erase, may_erase_for
from studio.audit.chain import erase_about, note
from studio.models import AuditEntry, BroughtIn, Child, FamilyOnStaff, ImportDraft, Staff
from studio.people.class_lists import leave
from studio.people.names import fold_name
from studio.people.records import all_records
from studio.people.today import local_today

log = logging.getLogger("ladder.privacy")


def waiting_for(child: Child) -> Erasure | None:
    """That this child is to be erased, and nobody has answered it yet."""
    asked = Erasure.objects.filter(child__in=child.records, answered_at=None)
    return asked.select_related("by").order_by("pk").first()


def is_erased(child: Child) -> bool:
    return Erasure.objects.filter(child__in=child.records, done=True).exists()


def ask(child: Child, by: Staff | None, now: datetime.datetime) -> Erasure:
    """By a director, or (None) by the studio's rule. Raises NotAnswered: may-not, answered."""
    if by is not None and not may_erase(by):
        raise NotAnswered("may-not")
    try:
        with transaction.atomic():
            if waiting_for(child) or is_erased(child):
                raise NotAnswered("answered")
            asked = Erasure.objects.create(child_id=child.root, by=by, at=now)
            note(AuditEntry.Kind.ERASURE, by, child.uuid, now, what="asked")
    except IntegrityError:
        raise NotAnswered("answered") from None
    log.info("erasure asked child=%s by=%s", child.uuid, by.uuid if by else "rule")
    return asked


def take_back(erasure: uuid.UUID, child: Child, by: Staff, now: datetime.datetime) -> None:
    with transaction.atomic():
        asked = _locked(erasure, child, by)
        _answer(asked, by, now, done=False)
        note(AuditEntry.Kind.ERASURE, by, asked.child.uuid, now, what="taken back")
    log.info("erasure taken back child=%s by=%s", asked.child.uuid, by.uuid)


def erase(erasure: uuid.UUID, child: Child, by: Staff, now: datetime.datetime) -> None:
    """The yes. Raises NotAnswered: as why_not_erased says, or may-not, unknown, answered."""
    with transaction.atomic():
        asked = _locked(erasure, child, by)
        if code := why_not_erased(asked, by, now):
            raise NotAnswered(code)
        _erase(asked.child, now)
        _answer(asked, by, now, done=True)
        note(AuditEntry.Kind.ERASURE, by, asked.child.uuid, now, what="erased")
    log.info("erased child=%s by=%s", asked.child.uuid, by.uuid)


def why_not_erased(asked: Erasure, by: Staff, now: datetime.datetime) -> str:
    """Why this director does not say yes now, as a code: family, kept, or of second_yes.py."""
    if not may_erase_for(by, asked.child):
        return "family"
    if kept_for(asked.child, local_today([asked.child], now)[asked.child.pk]):
        return "kept"
    return why_not_yet(asked, by, now)


def _locked(erasure: uuid.UUID, child: Child, by: Staff) -> Erasure:
    if not may_erase(by):
        raise NotAnswered("may-not")
    # Turns and decisions lock the child first, too.
    (locked,) = lock(Child.objects.filter(pk=child.root))
    rows = Erasure.objects.filter(uuid=erasure, child__in=locked.records)
    asked = rows.select_for_update(of=["self"]).first()
    if asked is None:
        raise NotAnswered("unknown")
    asked.child = locked
    if asked.answered_at is not None:
        raise NotAnswered("answered")
    return asked


def _answer(asked: Erasure, by: Staff, now: datetime.datetime, done: bool) -> None:
    asked.answered_by, asked.answered_at, asked.done = by, now, done
    asked.save(update_fields=["answered_by", "answered_at", "done"])


def _erase(child: Child, now: datetime.datetime) -> None:
    today = local_today([child], now)[child.pk]
    records = Child.objects.filter(pk__in=all_records([child.root])).order_by("pk")
    rows = list(records)
    keys = records.values("pk")
    FamilyOnStaff.objects.filter(child__in=keys, ended_at=None).update(ended_at=now)
    for record in rows:
        for group in record.classes.all():
            leave(record, group, today)
    for part in PARTS:
        found = part.rows(keys)
        if part.goes:
            _all_of(found).delete()
        elif part.words:
            kept = Q(*((f"{word}__isnull", True) for word in part.words))
            _all_of(found).exclude(kept).update(**dict.fromkeys(part.words))
    _forget_files()
    erase_about([record.uuid for record in rows])
    for record in rows:
        _make_nameless(record, today)


def _all_of(found: "QuerySet[Any]") -> "QuerySet[Any]":
    """The same rows, named by their keys alone: neither of both databases deletes or changes rows
    of a query that asks other tables."""
    return found.model._default_manager.filter(pk__in=found.order_by().values("pk"))


def _forget_files() -> None:
    """Files that were brought in hold names in columns of their own making: none is kept on, and
    none can be undone any more."""
    ImportDraft.objects.all().delete()
    BroughtIn.objects.exclude(done={}).update(done={})


def _make_nameless(record: Child, today: datetime.date) -> None:
    record.name = _("Erased (%(mark)s)") % {"mark": str(record.uuid)[:4]}
    record.name_key = fold_name(record.name)
    record.list_id = record.name_used = record.guardian = record.caution = record.kick_leg = ""
    record.letter_language = "en"
    record.birth_year = record.birth_month = None
    record.left_on = min(record.left_on or today, today)
    columns = ["name", "name_key", "list_id", "name_used", "guardian", "caution", "kick_leg"]
    columns += ["letter_language", "birth_year", "birth_month", "left_on", "search_key"]
    record.save(update_fields=columns)
