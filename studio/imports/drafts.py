"""Uploaded files between the preview and the confirmation.

Only the one who uploaded a draft sees it. Its bytes are deleted once it is done, the rest of it
with the next upload a day or more later.
"""

import datetime
import logging
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django.db.models import QuerySet

from studio import access
from studio.imports.bring_in import FileOptions, ImportKind, Reading, bring_in
from studio.imports.refused_file import MOST_SHOWN, kinds_of, refused_file
from studio.imports.words import COLUMN, WHAT, Word, columns_of, said_before
from studio.models import ImportDraft, Staff

log = logging.getLogger("ladder.import")

EXPIRES_AFTER = datetime.timedelta(days=1)
ANSWER, WORD, LEAVES = "answer-", "word", "leaves:"
KINDS = {COLUMN, *WHAT}
# No file that is taken has as many lines as that has digits, and no answer is as long.
MOST_DIGITS, LONGEST_ANSWER = 9, 200


def own_drafts(staff: Staff, kind: ImportKind) -> QuerySet[ImportDraft]:
    """One's own uploads of a kind."""
    return access.visible_drafts(staff).filter(kind=kind.kind)


def start(
    staff: Staff, kind: ImportKind, name: str, data: bytes, now: datetime.datetime
) -> ImportDraft:
    """Store an upload for its preview, and delete one's old ones."""
    own_drafts(staff, kind).filter(created_at__lt=now - EXPIRES_AFTER).delete()
    return ImportDraft.objects.create(
        kind=kind.kind, owner=staff, name=name[:200], data=data, created_at=now
    )


def save_options(draft: ImportDraft, options: Mapping[str, Any], posted: Mapping[str, str]) -> None:
    """Store how the file is to be read, and the answers in a posted form beside earlier ones."""
    choices, words = answers_in(posted), words_in(posted)
    if "forget" not in posted:
        before = FileOptions.from_json(draft.options)
        choices = {**before.choices, **choices}
        said = {**before.words, **words}
        words = {what: {**before.words.get(what, {}), **words.get(what, {})} for what in said}
    leaves = [key.removeprefix(LEAVES) for key in posted if key.startswith(LEAVES)]
    leaves = [who for who in leaves if _may_be_answer(who)]
    read = FileOptions(**options, choices=choices, words=words, leaves=leaves)
    draft.options = read.as_json()
    draft.save(update_fields=["options"])


def answers_in(posted: Mapping[str, str]) -> dict[int, str]:
    """The answers by line in a posted form; the reader checks whether they were offered.

    What no database could keep was never offered.
    """
    named = {key.removeprefix(ANSWER): v for key, v in posted.items() if key.startswith(ANSWER)}
    return {
        int(line): value
        for line, value in named.items()
        if line.isdecimal() and len(line) <= MOST_DIGITS and _may_be_answer(value)
    }


def words_in(posted: Mapping[str, str]) -> dict[str, dict[str, str]]:
    """What a posted form says of words, by what kind of word they are."""
    words: dict[str, dict[str, str]] = {}
    for key, meaning in posted.items():
        mark, _colon, word = key.partition(":")
        what, _colon, word = word.partition(":")
        printable = _may_be_answer(word) and (not meaning or _may_be_answer(meaning))
        if mark == WORD and what in KINDS and printable:
            words.setdefault(what, {})[word] = meaning
    return words


def _may_be_answer(value: str) -> bool:
    return 0 < len(value) <= LONGEST_ANSWER and value.isprintable()


def read(draft: ImportDraft, kind: ImportKind, scope: Any, now: datetime.datetime) -> Reading:
    """The draft's file as it would be brought in now. Raises TableFileError."""
    return kind.read(bytes(draft.data), FileOptions.from_json(draft.options), scope, now)


def columns(draft: ImportDraft, kind: ImportKind, reading: Reading) -> list[Word]:
    """The columns of the draft's file, and what each is read as."""
    said = said_before(kind.kind, FileOptions.from_json(draft.options).words)
    return columns_of(reading.table.columns, kind.columns, said.get(COLUMN, {}))


def _result(reading: Reading) -> dict[str, Any]:
    """What stays of a file that was brought in."""
    return {
        **reading.counts,
        "left_out": _lines_left_out(reading),
        "refused": [item.as_json() for item in reading.left_out[:MOST_SHOWN]],
        "messages": len(reading.left_out),
        "kinds": [asdict(kind) for kind in kinds_of(reading.left_out)[:MOST_SHOWN]],
        "refused_file": refused_file(reading.table, reading.left_out),
    }


def _lines_left_out(reading: Reading) -> int:
    return len({item.line for item in reading.left_out})


def confirm(
    draft: ImportDraft,
    kind: ImportKind,
    scope: Any,
    now: datetime.datetime,
    *,
    all_or_nothing: bool,
    shown: str,
) -> None:
    """Bring the draft in; a draft that is done already stays as it is.

    Call it in a transaction. Raises what ``bring_in`` raises; then nothing is stored.
    """
    locked = ImportDraft.objects.select_for_update().get(pk=draft.pk)
    if locked.done_at is not None:
        return
    reading = bring_in(
        kind,
        bytes(locked.data),
        FileOptions.from_json(locked.options),
        scope,
        now,
        all_or_nothing=all_or_nothing,
        shown=shown,
    )
    locked.done_at, locked.data, locked.result = now, b"", _result(reading)
    locked.save(update_fields=["done_at", "result", "data"])
    counts = " ".join(f"{name}={count}" for name, count in reading.counts.items())
    log.info(
        "%s draft=%s owner=%s %s left_out=%d",
        kind.name,
        locked.uuid,
        locked.owner_id,
        counts,
        _lines_left_out(reading),
    )


def left_out_file(draft: ImportDraft, kind: ImportKind, scope: Any, now: datetime.datetime) -> str:
    """The lines left out, or that would be, as a file. Raises TableFileError."""
    if draft.result is not None:
        return str(draft.result["refused_file"])
    reading = read(draft, kind, scope, now)
    return refused_file(reading.table, reading.left_out)
