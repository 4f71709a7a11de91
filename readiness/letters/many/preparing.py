"""The next letter of each child: what it says, what is prepared for it, and what it waits for.

Shared: used by the page of one letter, of a class's, and by ``print_letters``.
"""

import datetime
import logging
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from readiness.letters.facts import ChildFacts
from readiness.letters.kept.keeping import ToKeep, keep, last_letters
from readiness.letters.kept.waiting import (
    digest_of_record,
    digest_of_words,
    reasons_to_wait,
    was_read,
)
from readiness.letters.languages.mixed import mixes_languages
from readiness.letters.letter import Letter, Sender, letter_facts_of, senders, write_from
from readiness.letters.sheet import NotPrintable
from readiness.models import LetterDraft, PrintedLetter
from studio.models import Child, Staff
from studio.people.records import all_records, root_of

log = logging.getLogger("ladder.letters")


class NotPrinted(Exception):
    """This letter was left out; the message says why."""


@dataclass(frozen=True)
class Prepared:
    """A child's next letter. ``waits``: why a director reads it first, if nobody has yet; last:
    the one printed before."""

    child: Child
    facts: ChildFacts
    sender: Sender
    letter: Letter
    draft: LetterDraft | None
    last: PrintedLetter | None
    reasons: Sequence[str] = ()

    @property
    def is_read(self) -> bool:
        return was_read(self.draft, self.letter)

    @property
    def waits(self) -> Sequence[str]:
        return () if self.is_read else self.reasons

    @property
    def held_back(self) -> str:
        return self.draft.held_back if self.draft else ""

    @property
    def mixes_languages(self) -> str:
        return mixes_languages(self.letter)

    @property
    def is_left_out(self) -> bool:
        """Printing leaves it out as it is now, whatever is ticked."""
        return bool(self.held_back or self.waits or self.mixes_languages)

    @property
    def tells_nothing(self) -> bool:
        """No turns of this term are on record."""
        return not self.facts.paused_since and not self.facts.evenings_lately()

    @property
    def seen(self) -> str:
        """Says what of the record somebody has read."""
        return digest_of_record(self.letter)

    def saying(self, own: str, review: bool, replaces: PrintedLetter | None) -> Letter:
        """The letter with what somebody says in it."""
        day = replaces.day if replaces else None
        return write_from(self.facts, self.sender, own, review, day)


@dataclass(frozen=True)
class Broken:
    """A letter that cannot be written, and why."""

    child: Child
    why: str


def prepared(
    children: Sequence[Child], staff: Staff, now: datetime.datetime
) -> list[Prepared | Broken]:
    """In the order of the children, by a fixed number of queries; signed by this member of
    staff."""
    facts, from_whom = letter_facts_of(children, now), senders(children, staff)
    drafts, last = drafts_of(children), last_letters(children)
    return [
        _prepared(child, facts[child.pk], from_whom[child.pk], drafts.get(child.pk), last)
        for child in children
    ]


def _prepared(
    child: Child,
    facts: ChildFacts,
    sender: Sender,
    draft: LetterDraft | None,
    last: dict[int, PrintedLetter],
) -> Prepared | Broken:
    """A text of the ladder that cannot be read into a sentence breaks this letter alone."""
    day = draft.replaces.day if draft and draft.replaces else None
    said: dict[str, Any] = {"own": draft.own, "review": draft.review} if draft else {}
    try:
        letter, reasons = write_from(facts, sender, **said, replaces=day), reasons_to_wait(facts)
    except (LookupError, TypeError, ValueError, AttributeError) as error:
        log.error("letter not written child=%s error=%s", child.uuid, type(error).__name__)
        why = _("This letter cannot be written: a text of the ladder does not fit into it.")
        return Broken(child, why)
    return Prepared(child, facts, sender, letter, draft, last.get(child.pk), reasons)


def drafts_of(children: Sequence[Child]) -> dict[int, LetterDraft]:
    """What is prepared for each child who has it; of two records of a child, the later."""
    records = all_records([child.pk for child in children])
    rows = LetterDraft.objects.filter(child__in=records).annotate(root=root_of("child"))
    rows = rows.select_related("by", "read_by", "replaces").order_by("at", "pk")
    return {row.root: row for row in rows}


@transaction.atomic
def prepare(
    each: Prepared, said: dict[str, Any], by: Staff, now: datetime.datetime, reads: bool
) -> None:
    """Keep what somebody says of a child's next letter. ``reads``: a director who has read it so;
    else an earlier read counts for as long as the letter says the same."""
    before = each.draft
    values: dict[str, Any] = {
        "own": before.own if before else "",
        "review": bool(before and before.review),
        "replaces": before.replaces if before else None,
        "held_back": each.held_back,
        **said,
        "by": by,
        "at": now,
        "read_by": before.read_by if before else None,
        "read_at": before.read_at if before else None,
        "read_digest": before.read_digest if before else "",
    }
    if reads:
        letter = each.saying(values["own"], values["review"], values["replaces"])
        read = {"read_by": by, "read_at": now, "read_digest": digest_of_words(letter)}
        values |= read
    LetterDraft.objects.filter(child__in=each.child.records).exclude(child=each.child).delete()
    LetterDraft.objects.update_or_create(child=each.child, defaults=values)


def print_prepared(each: Prepared | Broken, by: Staff, now: datetime.datetime) -> PrintedLetter:
    """The letter as it is prepared, printed and kept. Raises NotPrinted."""
    if isinstance(each, Broken):
        raise NotPrinted(each.why)
    if each.held_back:
        raise NotPrinted(_("Held back: %(reason)s") % {"reason": each.held_back})
    if each.waits:
        waits = _("A director has not read it yet.")
        raise NotPrinted(" ".join([*each.waits, waits]))
    if mixed := each.mixes_languages:
        raise NotPrinted(f"{mixed} {_('Print it from its own page if it is to go out so.')}")
    read_by = each.draft.read_by if each.draft and each.reasons else None
    replaces = each.draft.replaces if each.draft else None
    day = each.facts.day
    try:
        return keep(ToKeep(each.child, each.letter, day, by, read_by, replaces), now)
    except NotPrintable as refusal:
        raise NotPrinted(str(refusal)) from None
