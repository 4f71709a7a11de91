"""The sentences of the evidence hour."""

import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.words.numbers import percent_words

CAUGHT_TEXT = gettext_lazy("caught by the spotter")
NOT_TAKEN = gettext_lazy(
    "A turn could not be taken, and nothing was logged: look whether all of them are in this class."
)
NOT_THAT_DAY = gettext_lazy(
    "Turns of an evidence hour are written down on its day. Nothing was logged: what was seen on "
    "another day goes in by the floor page."
)
PLANNED = gettext_lazy("Has an evidence hour to come.")
SORE = gettext_lazy("Something hurts, or nobody has said yet that it is gone.")
NO_LESS_SUPPORT = gettext_lazy("Is given more support now than this gate asks for.")
NOTHING_TO_SEE = gettext_lazy("Lacks turns that need no grader: any class will do.")


def stopped_text(day: datetime.date) -> str:
    values = {"day": date_format(day, "j M")}
    return _("Had a stop sign on %(day)s: not within 14 days of it.") % values


def chance_text(chance: float | None) -> str:
    """What six turns would probably decide, for the planner."""
    if chance is None:
        return _("what is missing is a second grader")
    return percent_words(chance)


def planned_text(children: int) -> str:
    form = ngettext(
        "The hour is planned for %(n)s child.", "The hour is planned for %(n)s children.", children
    )
    return form % {"n": children}


def written_text(turns: int) -> str:
    form = ngettext("%(n)s turn is logged.", "%(n)s turns are logged.", turns)
    return form % {"n": turns}
