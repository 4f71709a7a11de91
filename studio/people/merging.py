"""Two records of one child: merged, and parted again.

A merge is one row, and nothing is moved: whatever stands under the loser, before and since, is
read as the survivor's for as long as the merge is not undone. What that comes to for each record,
through chains of merges, is kept in ``Child.merged_into``.
"""

import datetime
import logging
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from studio.access import may_merge
from studio.audit.chain import note
from studio.models import AuditEntry, Child, Merge, Staff

log = logging.getLogger("ladder.merging")


class NotMerged(Exception):
    """Nothing was changed. ``code`` says why: "may-not", "merged-already", "same-child",
    "opens-signed", "undone-already"."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def merge(loser: Child, survivor: Child, by: Staff, now: datetime.datetime) -> Merge:
    """From now on both records are one child, who is called and listed as the survivor."""
    with transaction.atomic():
        row = _merge(loser, survivor, by, now)
        _note("merged", loser, survivor, by, now)
    log.info("merged loser=%s survivor=%s by=%s", loser.uuid, survivor.uuid, by.uuid)
    return row


@contextmanager
def as_if_merged(
    loser: Child, survivor: Child, by: Staff, now: datetime.datetime
) -> Iterator[Child]:
    """The one child that there would be; nothing of it stays."""
    with transaction.atomic():
        _merge(loser, survivor, by, now)
        yield Child.objects.get(pk=survivor.pk)
        transaction.set_rollback(True)


@transaction.atomic
def _merge(loser: Child, survivor: Child, by: Staff, now: datetime.datetime) -> Merge:
    if not may_merge(by):
        raise NotMerged("may-not")
    one, other = _locked_with_their_roots(loser, survivor)
    if one.merged_into_id is not None:
        raise NotMerged("merged-already")
    if other.root == one.pk:
        raise NotMerged("same-child")
    signed_stages = import_string(settings.SIGNED_STAGES)
    signed = signed_stages(other, now)
    row = Merge.objects.create(loser=one, survivor=other, by=by, at=now)
    follow()
    _read_again(one, other)
    # What two people must open is not opened by one who merges.
    if not signed_stages(Child.objects.get(pk=other.pk), now) <= signed:
        raise NotMerged("opens-signed")
    return row


def undo(row: Merge, by: Staff, now: datetime.datetime) -> None:
    """Each of the two is again what it was, with what has come in for it since."""
    if not may_merge(by):
        raise NotMerged("may-not")
    with transaction.atomic():
        one, other = _locked_with_their_roots(row.loser, row.survivor)
        undone = Merge.objects.filter(pk=row.pk, undone_at=None)
        if not undone.update(undone_at=now, undone_by=by):
            raise NotMerged("undone-already")
        follow()
        _read_again(one, other)
        _note("parted", one, other, by, now)
    about = one.uuid, other.uuid, by.uuid
    log.info("merge undone loser=%s survivor=%s by=%s", *about)


def _note(what: str, one: Child, other: Child, by: Staff, now: datetime.datetime) -> None:
    note(AuditEntry.Kind.MERGE, by, one.uuid, now, **{"what": what, "with": str(other.uuid)})


def _locked_with_their_roots(one: Child, other: Child) -> tuple[Child, Child]:
    """Both, with the records that stand for them locked as well: turns, decisions and other merges
    of either wait. A merge made meanwhile is seen in what was locked."""
    named = {one.pk, other.pk}
    roots = set(Child.objects.filter(pk__in=named).values_list("merged_into", flat=True)) - {None}
    rows = Child.objects.filter(pk__in=named | roots).order_by("pk").select_for_update()
    locked = {child.pk: child for child in rows}
    if not {locked[pk].root for pk in named} <= locked.keys():
        return _locked_with_their_roots(one, other)
    return locked[one.pk], locked[other.pk]


def follow(check: bool = False) -> list[int]:
    """``Child.merged_into`` as the merges in force say, through chains. They are few. The records
    of which it was otherwise; with ``check`` it stays so."""
    # Read before the merges: one that is stored in between is told of twice, and not taken back.
    stored = Child.objects.filter(merged_into__isnull=False).values_list("pk", "merged_into")
    known: dict[int, int | None] = dict(stored)
    into = dict(Merge.objects.filter(undone_at=None).values_list("loser", "survivor"))
    roots: dict[int, int | None] = {loser: _end(loser, into) for loser in into}
    every = sorted(roots.keys() | known.keys())
    wrong = [record for record in every if roots.get(record) != known.get(record)]
    for record in () if check else wrong:
        Child.objects.filter(pk=record).update(merged_into=roots.get(record))
    return wrong


def _end(record: int, into: dict[int, int]) -> int:
    while record in into:
        record = into[record]
    return record


def _read_again(one: Child, other: Child) -> None:
    import_string(settings.AFTER_MERGE)({one.pk, one.root, other.pk, other.root})
