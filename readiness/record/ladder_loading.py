"""Loading a ladder: checked whole, the climb included, then kept as a new version."""

import datetime
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from progression.ladder.file import LadderFault, digest, faults_in
from progression.models import Drill, LadderVersion, Surface
from readiness.engine.ladder import Ladder
from readiness.engine.trial.climb import climb
from studio.models import Staff

# Anybody, for the climb with a single grader.
ONE_DIRECTOR = 1


class LadderRefused(Exception):
    """The ladder has faults; ``faults`` holds all of them. Nothing was changed."""

    def __init__(self, faults: list[LadderFault]) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = faults


class LadderMoved(Exception):
    """Another version, ``newest``, came in since this one was begun. Nothing was changed."""

    def __init__(self, newest: LadderVersion | None) -> None:
        super().__init__("another version came in")
        self.newest = newest


def check(content: Mapping[str, Any]) -> None:
    """Raise LadderRefused with every fault. The climb is tried once all else is right."""
    faults = faults_in(dict(content)) or _climb_faults(content) or _measure_faults(content)
    if faults:
        raise LadderRefused(faults)


def load(
    content: Mapping[str, Any],
    *,
    now: datetime.datetime,
    from_day: datetime.date,
    reason: str = "",
    by: Staff | None = None,
    after: int | None = None,
) -> LadderVersion:
    """Keep a checked ladder as the next version, in force from a day on.

    The same content as the newest version is that version: nothing is added. ``after``: the
    number of the version that this one was made from; LadderMoved if it is no longer the newest.
    """
    check(content)
    with transaction.atomic():
        newest = _locked_newest()
        if after is not None and (newest is None or newest.number != after):
            raise LadderMoved(newest)
        mark = digest(dict(content))
        if newest is not None and newest.digest == mark:
            return newest
        drills = [Drill(key=drill["key"]) for drill in content["drill"]]
        Drill.objects.bulk_create(drills, ignore_conflicts=True)
        surfaces = [Surface(key=surface["key"]) for surface in content["surface"]]
        Surface.objects.bulk_create(surfaces, ignore_conflicts=True)
        return LadderVersion.objects.create(
            number=newest.number + 1 if newest else 1,
            content=content,
            digest=mark,
            from_day=max(from_day, newest.from_day) if newest else from_day,
            loaded_at=now,
            loaded_by=by,
            reason=reason,
        )


def _locked_newest() -> LadderVersion | None:
    """The newest version, with all loading queued behind the lock of the first one's row.

    A lock on the newest would not do: who waited for it would still take it for the newest.
    """
    LadderVersion.objects.select_for_update().order_by("number").only("pk").first()
    return LadderVersion.objects.order_by("-number").first()


def _climb_faults(content: Mapping[str, Any]) -> list[LadderFault]:
    ladder = Ladder.from_content(content)
    result = climb(ladder)
    message = _(
        "A child who is always clean never gets here with only the turns that are allowed "
        "at the time."
    )
    if result.stuck:
        return [LadderFault(f"stage {code}", message) for code in result.stuck]
    alone = climb(ladder, (ONE_DIRECTOR,), max(result.opened.values()))
    message = _("A child gets to unspotted here with one director who grades and signs alone.")
    return [LadderFault(f"drill {key}", message) for key in alone.unspotted]


def _measure_faults(content: Mapping[str, Any]) -> list[LadderFault]:
    """A drill keeps its measure for ever: its old turns could not be read otherwise."""
    newest = LadderVersion.objects.order_by("-number").first()
    if newest is None:
        return []
    before = {drill["key"]: drill["measure"] for drill in newest.content["drill"]}
    message = _("This drill has always been measured as “%(measure)s”; it cannot change.")
    return [
        LadderFault(f"drill {drill['key']}", message % {"measure": before[drill["key"]]})
        for drill in content["drill"]
        if before.get(drill["key"], drill["measure"]) != drill["measure"]
    ]
