"""The upload of a paper log that waits for its confirmation: read it, bring it in, list what is
left out."""

import datetime
import logging

from readiness.paper.bring_in import (
    LogScope,
    PaperOptions,
    PaperReading,
    bring_in_paper,
    read_paper,
)
from studio.imports import uploads
from studio.imports.refused_file import refused_file
from studio.models import ImportDraft

log = logging.getLogger("ladder.import")

KIND = ImportDraft.Kind.ATTEMPTS


def options_of(draft: ImportDraft) -> PaperOptions:
    return PaperOptions.from_json(draft.options)


def save_options(draft: ImportDraft, options: PaperOptions) -> None:
    draft.options = options.as_json()
    draft.save(update_fields=["options"])


def read(draft: ImportDraft, scope: LogScope, now: datetime.datetime) -> PaperReading:
    """The draft's file as it would be brought in now. Raises TableFileError."""
    return read_paper(bytes(draft.data), options_of(draft), scope, now)


def confirm(
    draft: ImportDraft,
    scope: LogScope,
    now: datetime.datetime,
    *,
    all_or_nothing: bool,
    shown: str,
) -> None:
    """Bring the draft in; a draft that is done already stays as it is.

    Call it in a transaction. Raises what ``bring_in_paper`` raises; then nothing is stored.
    """
    locked = uploads.lock(draft)
    if locked.done_at is not None:
        return
    reading = bring_in_paper(
        bytes(locked.data),
        options_of(locked),
        scope,
        now,
        all_or_nothing=all_or_nothing,
        shown=shown,
    )
    uploads.finish(locked, _result_of(reading), now)
    log.info(
        "paper draft=%s owner=%s new=%d left_out=%d",
        locked.uuid,
        locked.owner_id,
        len(reading.new),
        reading.refused_lines,
    )


def left_out_file(draft: ImportDraft, scope: LogScope, now: datetime.datetime) -> str:
    """The lines left out, or that would be, as a file. Raises TableFileError."""
    if draft.result is not None:
        return str(draft.result["refused_file"])
    reading = read(draft, scope, now)
    return refused_file(reading.table, reading.log.refused)


def _result_of(reading: PaperReading) -> dict[str, object]:
    return {
        "new": len(reading.new),
        "had": reading.had,
        "left_out": reading.refused_lines,
        "refused": [item.as_json() for item in reading.log.refused],
        "refused_file": refused_file(reading.table, reading.log.refused),
    }
