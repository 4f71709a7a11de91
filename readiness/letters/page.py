"""The page of a letter: its sentences, the form for one more, and the file to print."""

import datetime
from dataclasses import dataclass

from readiness.letters.forms import LetterForm
from readiness.letters.letter import Letter, language_not_met
from readiness.letters.sheet import NotPrintable, print_letter
from studio.models import Child
from studio.people.language import language_name
from studio.people.told_apart import who


@dataclass(frozen=True)
class LetterPage:
    """``file``: None if the letter cannot be printed; ``refusal`` says why."""

    child: Child
    form: LetterForm
    letter: Letter
    file: bytes | None
    refusal: str = ""
    # Full name, age and classes.
    who: str = ""

    @property
    def language_not_met(self) -> str:
        return language_not_met(self.child)

    @property
    def lacking_in(self) -> str:
        """The language in which the ladder has no words for some of this letter."""
        return language_name(self.letter.language)

    @property
    def refused(self) -> bool:
        return bool(self.refusal or self.form.errors)


def letter_page(child: Child, form: LetterForm, letter: Letter, today: datetime.date) -> LetterPage:
    described = who(child, today)
    try:
        return LetterPage(child, form, letter, print_letter(letter), who=described)
    except NotPrintable as refusal:
        return LetterPage(child, form, letter, None, str(refusal), described)
