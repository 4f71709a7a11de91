"""What was brought in lately, undone as a whole while nothing rests on it.

Shared: used by the roster and the paper log, which say what rests on it and take it back.
"""

import datetime
from collections.abc import Callable

from django.db import transaction

from studio.models import BroughtIn, ImportDraft, Staff, Studio

# For so long it is kept what a file changed.
KEPT = datetime.timedelta(days=28)


class RestsOnIt(Exception):
    """It is not undone: ``reasons`` are sentences that say what rests on it."""

    def __init__(self, reasons: list[str]) -> None:
        super().__init__(" ".join(reasons))
        self.reasons = reasons


def note(
    kind: ImportDraft.Kind, done: dict[str, object], by: Staff | None, now: datetime.datetime
) -> None:
    """Keep what a file did, and forget what can no longer be undone."""
    BroughtIn.objects.create(kind=kind, by=by, at=now, done=done)
    BroughtIn.objects.filter(at__lt=now - KEPT).update(done={})


def undo_once(
    row: BroughtIn,
    by: Staff,
    now: datetime.datetime,
    rests_on: Callable[[BroughtIn], list[str]],
    take_back: Callable[[BroughtIn, Staff, datetime.datetime], None],
) -> None:
    """Twice is once. Raises RestsOnIt; then nothing is changed."""
    with transaction.atomic():
        list(Studio.objects.select_for_update())
        row = BroughtIn.objects.select_for_update().get(pk=row.pk)
        if row.undone_at is not None:
            return
        if reasons := rests_on(row):
            raise RestsOnIt(reasons)
        take_back(row, by, now)
        row.undone_at, row.undone_by = now, by
        row.done = {}
        row.save(update_fields=["undone_at", "undone_by", "done"])
