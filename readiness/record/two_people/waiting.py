"""A change that touches what is signed for, and is not proven tighter, waits for a second yes.

Who that is, and from when, is in second_yes.py beside it. Until then it can be taken back.
"""

import datetime
import logging
import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from progression.ladder.tighter import unproven_changes
from progression.models import LadderProposal, LadderVersion
from readiness.record.ladder_loading import LadderMoved, check, load
from readiness.record.two_people.second_yes import NotAnswered, why_not_yet
from studio.access import may_change_gates
from studio.models import Staff

log = logging.getLogger("ladder.gates")


def bring_in(
    content: Mapping[str, Any],
    *,
    now: datetime.datetime,
    from_day: datetime.date,
    reason: str = "",
    by: Staff | None = None,
    after: int | None = None,
) -> LadderVersion | LadderProposal:
    """A new version at once where one person is enough, else a proposal that waits.

    Raises LadderRefused and LadderMoved as ``load`` does; LadderMoved too while one waits.
    """
    check(content)
    newest = LadderVersion.objects.order_by("-number").first()
    if newest is not None and after is None:
        after = newest.number
    if newest is None or not unproven_changes(newest.content, dict(content)):
        return load(content, now=now, from_day=from_day, reason=reason, by=by, after=after)
    with transaction.atomic():
        base = LadderVersion.objects.select_for_update().get(pk=newest.pk)
        if base.number != after or waiting() is not None:
            raise LadderMoved(base)
        proposal = LadderProposal.objects.create(
            content=content, base=base, reason=reason, by=by, at=now
        )
    log.info("proposed after=%s by=%s", base.number, by.uuid if by else "server")
    return proposal


def waiting() -> LadderProposal | None:
    """The one change that waits; one made from another version than the newest does not."""
    newest = LadderVersion.objects.order_by("-number").values("pk")[:1]
    open_ones = LadderProposal.objects.filter(answered_at=None, base__in=newest)
    return open_ones.select_related("by", "base").defer("content").first()


def put_in_force(
    proposal: uuid.UUID, by: Staff, now: datetime.datetime, from_day: datetime.date
) -> LadderVersion:
    """The yes: the ladder becomes a version, in force from a day on."""
    with transaction.atomic():
        found = _locked(proposal, by)
        code = why_not_yet(found, by, now)
        if code:
            raise NotAnswered(code)
        try:
            version = load(
                found.content,
                now=now,
                from_day=from_day,
                reason=found.reason,
                by=found.by,
                after=found.base.number,
            )
        except LadderMoved:
            raise NotAnswered("moved") from None
        _answer(found, by, now, version)
    log.info("put in force version=%s by=%s", version.number, by.uuid)
    return version


def take_back(proposal: uuid.UUID, by: Staff, now: datetime.datetime) -> None:
    with transaction.atomic():
        _answer(_locked(proposal, by), by, now, None)
    log.info("taken back proposal=%s by=%s", proposal, by.uuid)


def _locked(proposal: uuid.UUID, by: Staff) -> LadderProposal:
    if not may_change_gates(by):
        raise NotAnswered("may-not")
    rows = LadderProposal.objects.select_for_update().filter(uuid=proposal)
    found = rows.first()
    if found is None:
        raise NotAnswered("unknown")
    if found.answered_at is not None:
        raise NotAnswered("answered")
    return found


def _answer(
    found: LadderProposal, by: Staff, now: datetime.datetime, version: LadderVersion | None
) -> None:
    found.answered_by, found.answered_at, found.version = by, now, version
    found.save(update_fields=["answered_by", "answered_at", "version"])
