"""Which letters a director reads before they are printed, and whether it was read."""

import dataclasses
import hashlib

from django.utils.translation import gettext as _

from readiness.letters.facts import ChildFacts
from readiness.letters.letter import Letter
from readiness.models import LetterDraft


def reasons_to_wait(facts: ChildFacts) -> list[str]:
    """Why a director reads it first; empty for a letter that needs no read."""
    reasons = []
    if facts.paused_since:
        reasons.append(_("It tells of a pause."))
    if facts.hurt_lately():
        reasons.append(_("It is about a child whom something hurt lately."))
    if any(check.hands_came_back for check in facts.re_checks):
        reasons.append(_("It is about a child for whom hands came back."))
    return reasons


def digest_of_words(letter: Letter) -> str:
    """Of what a letter says of the child: the day on it, and the headings, which name how far back
    it looks, are another each day."""
    paragraphs = [text for section in letter.sections for text in section.paragraphs]
    beside = [*letter.beside.of_the_map(), *letter.beside.of_growth()]
    words = "\n".join([letter.language, letter.title, letter.own, *paragraphs, *beside])
    return hashlib.sha256(words.encode()).hexdigest()


def digest_of_record(letter: Letter) -> str:
    """The same without the sentence of somebody's own: what whoever reads the page has read."""
    return digest_of_words(dataclasses.replace(letter, own=""))


def was_read(draft: LetterDraft | None, letter: Letter) -> bool:
    """A director read these words."""
    return bool(draft and draft.read_by_id and draft.read_digest == digest_of_words(letter))
