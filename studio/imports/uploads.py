"""Uploaded files between the preview and the confirmation.

Only the one who uploaded a draft sees it. Its bytes are deleted once it is done, the rest of it
with the next upload a day or more later. Shared: used by both imports.
"""

import datetime
from collections.abc import Mapping

from django.db.models import QuerySet

from studio import access
from studio.models import ImportDraft, Staff

EXPIRES_AFTER = datetime.timedelta(days=1)


def own_drafts(staff: Staff, kind: str) -> QuerySet[ImportDraft]:
    """One's own uploads of a kind."""
    return access.visible_drafts(staff).filter(kind=kind)


def start(staff: Staff, kind: str, name: str, data: bytes, now: datetime.datetime) -> ImportDraft:
    """Store an upload for its preview, and delete one's old ones."""
    own_drafts(staff, kind).filter(created_at__lt=now - EXPIRES_AFTER).delete()
    return ImportDraft.objects.create(
        kind=kind, owner=staff, name=name[:200], data=data, created_at=now
    )


def lock(draft: ImportDraft) -> ImportDraft:
    """The draft's row, locked until the transaction ends."""
    return ImportDraft.objects.select_for_update().get(pk=draft.pk)


def finish(draft: ImportDraft, result: Mapping[str, object], now: datetime.datetime) -> None:
    """Mark a draft done, and store its result in place of its bytes."""
    draft.done_at, draft.result, draft.data = now, dict(result), b""
    draft.save(update_fields=["done_at", "result", "data"])
