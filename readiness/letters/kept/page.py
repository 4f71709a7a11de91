"""What the page of a child's kept letters shows."""

import datetime
import uuid
from typing import Any

from django.http import Http404

from readiness.letters.kept.files import Named
from readiness.letters.kept.forms import GivenForm
from readiness.letters.kept.keeping import kept_letters, replaced_by, with_how_given
from readiness.models import PrintedLetter
from studio.models import Child
from studio.people.told_apart import full_name, who


def kept_letter(child: Child, letter: uuid.UUID) -> Named:
    """One of a child's letters with its file, as it was printed; 404 if there is none."""
    found = kept_letters([child]).filter(uuid=letter).first()
    if found is None:
        raise Http404
    return Named(full_name(child), found)


def kept_page(
    child: Child, today: datetime.date, refused: GivenForm | None = None, about: str = ""
) -> dict[str, Any]:
    """``refused``: a form that was not taken, of the letter ``about``."""
    letters = list(with_how_given(kept_letters([child])))
    replaced = replaced_by(letters)
    rows = [
        (letter, replaced.get(letter.pk), _form(letter, today, refused, about))
        for letter in letters
    ]
    return {"child": child, "who": who(child, today), "rows": rows}


def _form(
    letter: PrintedLetter, today: datetime.date, refused: GivenForm | None, about: str
) -> GivenForm:
    if refused is not None and about == str(letter.uuid):
        return refused
    return GivenForm(letter, today)
