"""Landings on the hands, beside the usual. Shared: used by the child page."""

import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.engine.statistics.hand_contacts import HandContacts
from readiness.words.names import Names
from readiness.words.numbers import number_words


def landing_sentences(names: Names, read: HandContacts, growing: bool = False) -> list[str]:
    """Landings this week beside the usual, and the caution where the reading asks for one.
    ``growing``: the child grows fast, and it was compared with half the usual."""
    sentences = [_landings_this_week(read.week), *_usual_landings(names, read)]
    if read.caution:
        form = (
            _(
                "A caution, not a rule: that is a lot after three weeks without. Ask about "
                "wrists and elbows, and think of fewer landings today. What such numbers "
                "foretell is not established."
            )
            if read.code == "back-after-weeks"
            else _(
                "A caution, not a rule: while %(child)s grows fast, half the usual landings are "
                "enough. Ask about wrists and elbows, and think of fewer landings today. What "
                "such numbers foretell is not established."
            )
            if growing
            else _(
                "A caution, not a rule: that is half as much again as %(child)s is used to, "
                "or more. Ask about wrists and elbows, and think of fewer landings today. "
                "What such numbers foretell is not established."
            )
        )
        sentences.append(form % {"child": names.child})
    return sentences


def elsewhere_text(names: Names, kind: str, day: datetime.date, said_by: str) -> str:
    """Beside the landings: what is in none of these counts. ``kind``: "private" or "elsewhere"."""
    values = {"child": names.child, "day": names.date(day), "by": said_by}
    forms = {
        ("private", False): _(
            "%(child)s has private lessons, since %(day)s: landings there are in no count here."
        ),
        ("private", True): _(
            "%(child)s has private lessons, says %(by)s on %(day)s: landings there are in no "
            "count here."
        ),
        ("elsewhere", False): _(
            "%(child)s tumbles elsewhere too, since %(day)s: landings there are in no count here."
        ),
        ("elsewhere", True): _(
            "%(child)s tumbles elsewhere too, says %(by)s on %(day)s: landings there are in no "
            "count here."
        ),
    }
    return forms[kind, bool(said_by)] % values


def _landings_this_week(week: float) -> str:
    if not week:
        return _("No landing on the hands in the last 7 days.")
    return ngettext(
        "%(n)s landing on the hands in the last 7 days.",
        "%(n)s landings on the hands in the last 7 days.",
        round(week),
    ) % {"n": number_words(week)}


def _usual_landings(names: Names, read: HandContacts) -> list[str]:
    if read.code == "no-usual-yet":
        return [_("The record is too young to say what is usual.")]
    if read.usual is None:
        return []
    form = _("%(child)s's own usual week, from the last 28 days: %(usual)s.")
    return [form % {"child": names.child, "usual": number_words(read.usual)}]
