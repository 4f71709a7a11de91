"""The name of the log: it tells a tablet whether what it sent is still here.

Every answer carries it. Restored from an older backup, the server lacks lines that it has
acknowledged; a tablet that names one of them makes it give the log a new name, and every tablet
that hears a new name sends again what it keeps. Nothing is doubled by that: the ids are known.
"""

import datetime
import uuid
from functools import reduce
from operator import or_
from typing import Any

from django.db import transaction
from django.db.models import BooleanField, Exists, ExpressionWrapper, Max, QuerySet, Value

from progression.models import Attempt
from readiness.record.intake import LINES
from readiness.record.restored.bring_back import note_lost
from studio.db.prepared import prepared
from studio.models import Studio


def log_epoch(heard: str, last: uuid.UUID | None, now: datetime.datetime) -> uuid.UUID:
    """The log's name now. ``heard``: the name that the tablet knows; ``last``: the newest line
    acknowledged to it under that name."""
    ((name, is_known),) = _log(last) if last else _log_alone()
    if last is None or heard != str(name) or is_known:
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
    """The name, and whether a line of this id is in the log, of whatever kind."""
    kept = (Exists(table.objects.filter(pk=last)) for table in LINES)
    is_known = ExpressionWrapper(reduce(or_, kept), BooleanField())
    return Studio.objects.values_list("log", is_known)


@prepared
def _log_alone() -> QuerySet[Any, Any]:
    return Studio.objects.values_list("log", Value(False))
