"""The sentences of the map of faults."""

from collections.abc import Container, Iterable, Sequence

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.gates import change_words
from readiness.gates.saving import NotSaved

# So many of the places where a fault is seen are named on the map; the fault's page has all.
PLACES_NAMED = 2


def notes_on(drills: Sequence[str]) -> str:
    """How to do a drill where it mends something; empty where nothing is said of it."""
    return _("Note: %(drills)s") % {"drills": " · ".join(drills)} if drills else ""


def seen_at(names: Sequence[str]) -> str:
    """Where a fault is seen, the first places named."""
    more = len(names) - PLACES_NAMED
    values = {"places": ", ".join(names[:PLACES_NAMED]), "n": more}
    if more <= 0:
        return _("Seen at: %(places)s") % values
    form = ngettext(
        "Seen at: %(places)s and %(n)s more", "Seen at: %(places)s and %(n)s more", more
    )
    return form % values


def mended_by(names: Iterable[str]) -> str:
    return _("Mended by: %(drills)s") % {"drills": " · ".join(names)}


def root_of(name: str) -> str:
    return _("Root: %(root)s") % {"root": name}


NOT_SAVED: dict[str, Lazy] = {
    **change_words.NOT_SAVED,
    "may-not": gettext_lazy("Your account may not change the map."),
    "moved": gettext_lazy(
        "%(by)s saved version %(number)s of the ladder since this page was drawn. Nothing of yours "
        "was saved. What you wrote is still in the form; beside it is what stands now: look again."
    ),
    "same": gettext_lazy("Nothing is another than now. Nothing was saved."),
}


def not_saved_sentence(refused: NotSaved) -> str:
    """Why nothing was saved."""
    return change_words.not_saved_sentence(refused, NOT_SAVED)


def not_valid_sentence(wrong: Container[str]) -> str:
    """Over a form with something wrong in it; ``wrong``: the names of its fields."""
    if "token" in wrong or "base" in wrong:
        return _("The page did not carry what it should. Nothing was saved: look again and save.")
    return _("Nothing was saved.")
