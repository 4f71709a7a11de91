"""The name of the log: it tells a tablet whether what it sent is still here.

Every answer carries it. Restored from an older backup, the server lacks lines that it has
acknowledged; a tablet that names one of them makes it give the log a new name, and every tablet
that hears a new name sends again what it keeps. Nothing is doubled by that: the ids are known.
"""

import uuid

from django.db import transaction

from readiness.intake import is_known
from studio.models import Studio


def log_name(heard: str, last: uuid.UUID | None) -> uuid.UUID:
    """The log's name now. ``heard``: the name that the tablet knows; ``last``: the newest line
    acknowledged to it under that name."""
    name: uuid.UUID = Studio.objects.get().log
    if last is None or heard != str(name) or is_known(last):
        return name
    with transaction.atomic():
        studio = Studio.objects.select_for_update().get()
        # Another tablet may have come first.
        if heard == str(studio.log):
            studio.log = uuid.uuid4()
            studio.save(update_fields=["log"])
    return studio.log
