"""Saving a change as a new version of the ladder, and why that is refused.

Shared: used by the gates and by the map of faults.
"""

import datetime
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

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
    same (nothing is another)."""

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
    """Save the tried values of a gate.

    Raises NotSaved, or LadderRefused with every fault; nothing is changed then.
    """

    def with_tried(content: Mapping[str, Any]) -> dict[str, Any]:
        changed = with_values(content, code, values)
        if digest(changed) not in (tried.digest, digest(dict(content))):
            raise NotSaved("not-tried")
        return changed

    return save_change(with_tried, f"gate={code}", tried.base, by, now, reason)


def save_change(
    change: Callable[[Mapping[str, Any]], dict[str, Any]],
    what: str,
    base: int,
    by: Staff,
    now: datetime.datetime,
    reason: str,
) -> LadderVersion | LadderProposal:
    """Save the newest ladder, changed, as a new version, or as a change that waits.

    ``what``: for the log, ids only; ``base``: the number of the newest version when it was shown.
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
    if newest.number != base:
        raise NotSaved("moved", LadderVersion.objects.get(number=newest.number))
    content = change(newest.content)
    if digest(content) == digest(dict(newest.content)):
        raise NotSaved("same")
    day = counts_from(ladders, now)
    try:
        saved = bring_in(content, now=now, from_day=day, reason=reason.strip(), by=by, after=base)
    except LadderMoved as moved:
        raise NotSaved("moved", moved.newest) from None
    number = saved.number if isinstance(saved, LadderVersion) else "waits"
    log.info("ladder version=%s %s by=%s", number, what, by.uuid)
    return saved
