"""Saving the values tried as a new version of the ladder, and why that is refused."""

import datetime
import logging
from collections.abc import Mapping
from dataclasses import dataclass

from progression.ladder.file import digest
from progression.models import LadderProposal, LadderVersion
from readiness.gates.ladder_gates import with_values
from readiness.gates.versions import counts_from
from readiness.record.ladder_loading import LadderMoved
from readiness.record.ladders import Ladders
from readiness.record.two_people.waiting import bring_in, waiting
from studio.access import may_change_gates
from studio.models import Staff

log = logging.getLogger("ladder.gates")


class NotSaved(Exception):
    """Nothing was saved. ``code``: may-not, reason-missing, waits (another change waits), moved
    (somebody else saved a version since; ``newest``), not-tried (other values than were shown),
    same (no value is another)."""

    def __init__(self, code: str, newest: LadderVersion | None = None) -> None:
        super().__init__(code)
        self.code = code
        self.newest = newest


@dataclass(frozen=True)
class ShownTrial:
    """What somebody had before them: the number of the newest version, and the digest of the
    changed ladder whose effects were shown."""

    base: int
    digest: str


def save_version(
    code: str,
    values: Mapping[str, float],
    tried: ShownTrial,
    by: Staff,
    now: datetime.datetime,
    reason: str,
) -> LadderVersion | LadderProposal:
    """Save the tried values as a new version of the ladder, or as a change that waits.

    Raises NotSaved, or LadderRefused with every fault; nothing is changed then.
    """
    if not may_change_gates(by):
        raise NotSaved("may-not")
    if not reason.strip():
        raise NotSaved("reason-missing")
    if waiting() is not None:
        raise NotSaved("waits")
    ladders = Ladders()
    newest = ladders.newest
    if newest.number != tried.base:
        raise NotSaved("moved", LadderVersion.objects.get(number=newest.number))
    content = with_values(newest.content, code, values)
    mark = digest(content)
    if mark == digest(dict(newest.content)):
        raise NotSaved("same")
    if mark != tried.digest:
        raise NotSaved("not-tried")
    day = counts_from(ladders, now)
    try:
        saved = bring_in(
            content, now=now, from_day=day, reason=reason.strip(), by=by, after=tried.base
        )
    except LadderMoved as moved:
        raise NotSaved("moved", moved.newest) from None
    number = saved.number if isinstance(saved, LadderVersion) else "waits"
    log.info("ladder version=%s gate=%s by=%s", number, code, by.uuid)
    return saved
