"""The name of the log: it tells a tablet whether what it sent is still here.

Every answer carries it. Restored from an older backup, the server lacks lines that it has
acknowledged; a tablet that names one of them makes it give the log a new name, and every tablet
that hears a new name sends again what it keeps. Nothing is doubled by that: the ids are known.
"""

import datetime
import uuid
from typing import Any

from django.db import transaction
from django.db.models import Exists, Max, QuerySet, Value

from progression.models import Attempt
from readiness.record.intake import LINES
from readiness.record.restored.bring_back import note_lost
from studio.db.prepared import prepared
from studio.models import Studio


def log_epoch(heard: str, last: uuid.UUID | None, now: datetime.datetime) -> uuid.UUID:
    """The log's name now. ``heard``: the name that the tablet knows; ``last``: the newest line
    acknowledged to it under that name."""
    ((name, is_turn),) = _log(last) if last else _log_alone()
    if last is None or heard != str(name) or is_turn or _is_other_line(last):
        return name
    with transaction.atomic():
        studio = Studio.objects.select_for_update().get()
        # Another tablet may have come first.
        if heard == str(studio.log):
            studio.log = uuid.uuid4()
            studio.save(update_fields=["log"])
            newest = Attempt.objects.aggregate(newest=Max("received_at"))["newest"]
            note_lost(now, newest)
    return studio.log


@prepared
def _log(last: uuid.UUID) -> QuerySet[Any, Any]:
    """The name, and whether a turn of this id is in the log."""
    return Studio.objects.values_list("log", Exists(Attempt.objects.filter(pk=last)))


@prepared
def _log_alone() -> QuerySet[Any, Any]:
    return Studio.objects.values_list("log", Value(False))


def _is_other_line(last: uuid.UUID) -> bool:
    return any(table.objects.filter(pk=last).exists() for table in LINES)
