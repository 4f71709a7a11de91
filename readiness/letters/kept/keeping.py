"""A letter is drawn, and kept exactly as it was printed."""

import datetime
import hashlib
import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.db import transaction
from django.db.models import Prefetch, QuerySet

from readiness.letters.letter import Letter
from readiness.letters.sheet import print_letter
from readiness.models import LetterDraft, LetterGiven, PrintedLetter
from readiness.record.standings import lock
from studio.models import Child, Staff
from studio.people.records import all_records, root_of

log = logging.getLogger("ladder.letters")


def drawn(letter: Letter) -> bytes:
    """The letter as a PDF. Raises NotPrintable. Every letter is drawn here."""
    return print_letter(letter)


@dataclass(frozen=True)
class ToKeep:
    """A letter that is about to be printed. read_by: the director who read it, where that is asked
    for; replaces: the one that it corrects."""

    child: Child
    letter: Letter
    day: datetime.date
    by: Staff
    read_by: Staff | None = None
    replaces: PrintedLetter | None = None


@transaction.atomic
def keep(printed: ToKeep, now: datetime.datetime) -> PrintedLetter:
    """The letter as it is kept; what was prepared for it is done with. The same letter once more
    is the one kept before, byte for byte. Raises NotPrintable, with nothing kept."""
    child = printed.child
    list(lock(Child.objects.filter(pk=child.pk)))
    letter = printed.letter
    told = [settings.LADDER_PAPER, letter.language, *letter.texts()]
    words = _digest("\n".join(told).encode())
    kept = kept_letters([child]).filter(file__isnull=False).first()
    if kept is None or kept.text_digest != words:
        file = drawn(letter)
        kept = PrintedLetter.objects.create(
            child=child,
            day=printed.day,
            file=file,
            own=letter.own,
            digest=_digest(file),
            text_digest=words,
            by=printed.by,
            at=now,
            read_by=printed.read_by,
            replaces=printed.replaces,
        )
        about = kept.uuid, child.uuid, printed.by.uuid
        log.info("letter printed letter=%s child=%s by=%s", *about)
    LetterDraft.objects.filter(child__in=child.records).delete()
    return kept


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def kept_letters(children: Sequence[Child]) -> "QuerySet[PrintedLetter]":
    """Those of these children, of all their records, the latest first, without their files."""
    rows = PrintedLetter.objects.filter(child__in=all_records([child.pk for child in children]))
    return rows.select_related("by", "read_by", "replaces").order_by("-at", "-pk").defer("file")


def last_letters(children: Sequence[Child]) -> dict[int, PrintedLetter]:
    """Of each child who has one, the last."""
    rows = kept_letters(children).annotate(root=root_of("child")).order_by("at", "pk")
    return {row.root: row for row in rows}


def with_how_given(letters: "QuerySet[PrintedLetter]") -> "QuerySet[PrintedLetter]":
    given = LetterGiven.objects.select_related("by").order_by("on", "pk")
    return letters.prefetch_related(Prefetch("given", given))


def write_down_given(
    letter: PrintedLetter, how: str, on: datetime.date, by: Staff, now: datetime.datetime
) -> None:
    """How the family got it. The same said twice is said once."""
    LetterGiven.objects.get_or_create(letter=letter, how=how, on=on, by=by, defaults={"at": now})


def replaced_by(kept: Iterable[PrintedLetter]) -> dict[int, PrintedLetter]:
    """Of those that were corrected, the letter that replaces each."""
    return {row.replaces_id: row for row in kept if row.replaces_id is not None}
