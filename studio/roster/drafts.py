"""A roster that waits for its confirmation: reading it, doing it, and what is left of it."""

import datetime
import logging
from collections.abc import Mapping

from studio.imports import uploads
from studio.imports.refused_file import refused_file
from studio.models import ImportDraft
from studio.roster.bring_in import Reading, RosterOptions, Scope, bring_in, read_roster

log = logging.getLogger("ladder.import")

KIND = ImportDraft.Kind.ROSTER
ANSWER = "answer-"


def options_of(draft: ImportDraft) -> RosterOptions:
    return RosterOptions.from_json(draft.options)


def store_options(draft: ImportDraft, options: RosterOptions) -> None:
    draft.options = options.as_json()
    draft.save(update_fields=["options"])


def answers_in(posted: Mapping[str, str]) -> dict[int, str]:
    """The answers by line in a posted form; plan_roster sees whether they were offered."""
    named = {key.removeprefix(ANSWER): v for key, v in posted.items() if key.startswith(ANSWER)}
    return {int(line): value for line, value in named.items() if line.isdecimal() and value}


def read(draft: ImportDraft, scope: Scope, today: datetime.date) -> Reading:
    """The draft's file as it would be brought in now. Raises TableFileError."""
    return read_roster(bytes(draft.data), options_of(draft), scope, today)


def confirm(
    draft: ImportDraft,
    scope: Scope,
    now: datetime.datetime,
    today: datetime.date,
    *,
    all_or_nothing: bool,
    shown: str,
) -> None:
    """Bring the draft in; a draft that is done already stays as it is.

    Call it in a transaction. Raises what ``roster.bring_in`` raises; then nothing is stored.
    """
    locked = uploads.lock(draft)
    if locked.done_at is not None:
        return
    reading = bring_in(
        bytes(locked.data),
        options_of(locked),
        scope,
        today,
        all_or_nothing=all_or_nothing,
        shown=shown,
    )
    result = _result_of(reading)
    uploads.finish(locked, result, now)
    log.info(
        "roster draft=%s owner=%s new=%d changed=%d left_out=%d",
        locked.uuid,
        locked.owner_id,
        result["new"],
        result["changed"],
        result["left_out"],
    )


def left_out_file(draft: ImportDraft, scope: Scope, today: datetime.date) -> str:
    """The lines left out, or that would be, as a file. Raises TableFileError."""
    if draft.result is not None:
        return str(draft.result["refused_file"])
    reading = read(draft, scope, today)
    return refused_file(reading.table, reading.plan.left_out() if reading.plan else [])


def _result_of(reading: Reading) -> dict[str, object]:
    plan = reading.plan
    assert plan is not None
    left_out = plan.left_out()
    return {
        "new": len(plan.new),
        "changed": len(plan.changed),
        "same": len(plan.same),
        "left_out": len({item.line for item in left_out}),
        "refused": [item.as_json() for item in left_out],
        "refused_file": refused_file(reading.table, left_out),
    }
