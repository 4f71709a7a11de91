"""Numbers, shares and lists inside a sentence. Shared: used by every room that staff read."""

from collections.abc import Sequence
from functools import lru_cache
from math import ceil

from django.utils.formats import number_format
from django.utils.translation import get_language, ngettext, pgettext
from django.utils.translation import gettext as _

from readiness.engine.statistics.proportions import most_after_none
from studio.templatetags.marks import percent

# Clean rates that are said as so many times in so many, in hundredths.
RATES = {60: (3, 5), 70: (7, 10), 75: (3, 4), 80: (4, 5), 90: (9, 10)}


def rate_words(rate: float) -> str:
    """A clean rate as "4 times in 5", or "65 times in 100" where no short form is known."""
    hundredths = round(rate * 100, 6)
    times, of = RATES.get(round(hundredths), (hundredths, 100))
    if hundredths != round(hundredths):
        times, of = hundredths, 100
    return _("%(times)s times in %(of)s") % {"times": number_words(times), "of": of}


def percent_words(share: float) -> str:
    """A share as a percentage, rounded down."""
    return _("%(number)s %%") % {"number": percent(share)}


def number_words(value: float) -> str:
    """A number with at most one decimal, and none if it is whole."""
    return _number(round(value, 1), get_language())


@lru_cache(maxsize=2000)
def _number(rounded: float, _language: str | None) -> str:
    """Cached, as the same few numbers are in the sentences about every child; by language too,
    since Django formats by it."""
    return number_format(rounded, 0 if rounded == int(rounded) else 1)


def measured(value: float, measure: str) -> str:
    """A value with its unit, as it stands inside a sentence."""
    number = {"number": number_words(value)}
    if measure == "seconds":
        return _("%(number)s s") % number
    if measure == "grade":
        return _("grade %(number)s") % number
    return number["number"]


def count_word(number: int) -> str:
    """A number as it stands at the start of a sentence."""
    words = [
        pgettext("number at the start of a sentence", "Nobody"),
        pgettext("number at the start of a sentence", "One"),
        pgettext("number at the start of a sentence", "Two"),
        pgettext("number at the start of a sentence", "Three"),
        pgettext("number at the start of a sentence", "Four"),
        pgettext("number at the start of a sentence", "Five"),
        pgettext("number at the start of a sentence", "Six"),
        pgettext("number at the start of a sentence", "Seven"),
        pgettext("number at the start of a sentence", "Eight"),
        pgettext("number at the start of a sentence", "Nine"),
        pgettext("number at the start of a sentence", "Ten"),
    ]
    return words[number] if number < len(words) else str(number)


def join_words(parts: Sequence[str]) -> str:
    """A list in a sentence."""
    if len(parts) < 2:
        return "".join(parts)
    return _("%(first)s and %(last)s") % {"first": ", ".join(parts[:-1]), "last": parts[-1]}


def none_in_words(turns: int) -> str:
    """What no stop sign in so many turns still leaves possible: seldom is not never."""
    most = ceil(100 * (most_after_none(turns) or 1))
    return ngettext(
        "None in %(turns)s turn still leaves up to about %(most)s in 100 possible.",
        "None in %(turns)s turns still leaves up to about %(most)s in 100 possible.",
        turns,
    ) % {"turns": turns, "most": most}
