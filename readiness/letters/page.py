"""The page of a letter: its sentences, the form for one more, and the file to print."""

from dataclasses import dataclass

from readiness.letters.forms import LetterForm
from readiness.letters.letter import Letter
from readiness.letters.sheet import NotPrintable, print_letter
from studio.models import Child


@dataclass(frozen=True)
class LetterPage:
    """``file``: None if the letter cannot be printed; ``refusal`` says why."""

    child: Child
    form: LetterForm
    letter: Letter
    file: bytes | None
    refusal: str = ""

    @property
    def refused(self) -> bool:
        return bool(self.refusal or self.form.errors)


def letter_page(child: Child, form: LetterForm, letter: Letter) -> LetterPage:
    try:
        return LetterPage(child, form, letter, print_letter(letter))
    except NotPrintable as refusal:
        return LetterPage(child, form, letter, None, str(refusal))
