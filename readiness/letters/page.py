"""The page of a letter: its sentences, the form for what somebody adds, and whether it prints."""

import datetime
from typing import Any

from django.utils.translation import gettext as _

from readiness.letters.forms import LetterForm
from readiness.letters.kept.keeping import ToKeep, drawn, keep, kept_letters
from readiness.letters.kept.waiting import was_read
from readiness.letters.languages.mixed import mixes_languages
from readiness.letters.letter import Letter, language_not_met
from readiness.letters.many.preparing import Broken, prepare, prepared
from readiness.letters.sheet import NotPrintable
from readiness.models import PrintedLetter
from studio import access
from studio.models import Child, Staff
from studio.people.today import local_today
from studio.people.told_apart import who

# Of the letters that a new one may correct, so many are offered.
MOST_TO_CORRECT = 5


class LetterPage:
    """``letter``: with what the form says in it; None for one that cannot be written. refusal: why
    it cannot be printed at all; waits: why a coach does not print it before a director's read. A
    director who is not of the family reads it here, and prints it."""

    def __init__(
        self,
        child: Child,
        staff: Staff,
        now: datetime.datetime,
        data: Any = None,
        corrects: str = "",
    ) -> None:
        self.child, self.staff, self.now = child, staff, now
        (self.each,) = prepared([child], staff, now)
        self.reads = access.may_read_letters_about(staff, child)
        self.who = who(child, local_today([child], now)[child.pk])
        self.form = self._form(data, corrects)
        self.letter, self.refusal = self._written()
        self.waits = self._waits()

    def _form(self, data: Any, corrects: str) -> LetterForm:
        each, earlier = self.each, list(kept_letters([self.child])[:MOST_TO_CORRECT])
        may_tell = not isinstance(each, Broken) and bool(each.facts.for_review())
        initial: dict[str, Any] = {}
        wrong = next((letter for letter in earlier if str(letter.uuid) == corrects), None)
        if wrong:
            initial = {"replaces": corrects, "own": wrong.own}
        elif not isinstance(each, Broken) and each.draft:
            draft = each.draft
            initial = {name: getattr(draft, name) for name in ("own", "review", "held_back")}
            initial["replaces"] = str(draft.replaces.uuid) if draft.replaces else ""
        return LetterForm(data, may_tell and access.may_decide(self.staff), earlier, initial)

    def _written(self) -> tuple[Letter | None, str]:
        if isinstance(self.each, Broken):
            return None, self.each.why
        said = self.form.said()
        # What a director said before is not for a coach to take back.
        review = said.get("review", bool(self.each.draft and self.each.draft.review))
        letter = self.each.saying(said.get("own", ""), review, said.get("replaces"))
        try:
            drawn(letter)
        except NotPrintable as refusal:
            return letter, str(refusal)
        return letter, ""

    def _waits(self) -> list[str]:
        if isinstance(self.each, Broken) or self.letter is None:
            return []
        return [] if was_read(self.each.draft, self.letter) else list(self.each.reasons)

    @property
    def language_not_met(self) -> str:
        return language_not_met(self.child)

    @property
    def mixes_languages(self) -> str:
        return mixes_languages(self.letter) if self.letter else ""

    @property
    def may_print(self) -> bool:
        return self.reads or not self.waits

    @property
    def refused(self) -> bool:
        return bool(self.refusal or self.form.errors)

    def why_not(self) -> str:
        """Why it is not printed now; empty if it is."""
        held_back = self.form.said().get("held_back")
        if held_back:
            return _("Held back: %(reason)s") % {"reason": held_back}
        if self.may_print:
            return ""
        return " ".join([*self.waits, _("A director has not read it yet.")])

    def prepare(self) -> None:
        """For later, or for a director to read."""
        assert not isinstance(self.each, Broken)
        prepare(self.each, self.form.said(), self.staff, self.now, reads=self.reads)

    def print(self) -> PrintedLetter:
        assert not isinstance(self.each, Broken)
        assert self.letter is not None
        draft, read_by = self.each.draft, None
        if self.each.reasons:
            read_by = draft.read_by if draft and not self.waits else self.staff
        replaces = self.form.said().get("replaces")
        day = self.each.facts.day
        return keep(ToKeep(self.child, self.letter, day, self.staff, read_by, replaces), self.now)
