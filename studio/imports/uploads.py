"""Uploaded files between the preview and the confirmation.

A draft is seen by the one who uploaded it only. Its bytes go once it is done; what is left
of it goes with the next upload a day or more later.
"""

import datetime
from collections.abc import Mapping

from django.db.models import QuerySet

from studio import access
from studio.models import ImportDraft, Staff

KEPT_FOR = datetime.timedelta(days=1)


def own_drafts(staff: Staff, kind: str) -> QuerySet[ImportDraft]:
    """One's own uploads of a kind."""
    return access.visible_drafts(staff).filter(kind=kind)


def start(staff: Staff, kind: str, name: str, data: bytes, now: datetime.datetime) -> ImportDraft:
    """Keep an upload for its preview, and drop one's old ones."""
    own_drafts(staff, kind).filter(created_at__lt=now - KEPT_FOR).delete()
    return ImportDraft.objects.create(
        kind=kind, owner=staff, name=name[:200], data=data, created_at=now
    )


def lock(draft: ImportDraft) -> ImportDraft:
    """The draft as it stands now, held until the transaction ends."""
    return ImportDraft.objects.select_for_update().get(pk=draft.pk)


def finish(draft: ImportDraft, result: Mapping[str, object], now: datetime.datetime) -> None:
    """Mark a draft done and keep what came of it in place of its bytes."""
    draft.done_at, draft.result, draft.data = now, dict(result), b""
    draft.save(update_fields=["done_at", "result", "data"])
