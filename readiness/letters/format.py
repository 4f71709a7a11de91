"""Dates and lists in a letter."""

import datetime
from collections.abc import Sequence

from django.utils.formats import date_format
from django.utils.translation import pgettext


def letter_date(day: datetime.date) -> str:
    if day.day == 1:
        # French: “1er octobre”.
        first = pgettext("date format in a letter, of the first of a month", "j F Y")
        return date_format(day, first)
    return date_format(day, pgettext("date format in a letter, as in 3 October 2026", "j F Y"))


def name_list(names: Sequence[str]) -> str:
    """Names of drills have commas in them."""
    return pgettext("between the names in a list", "; ").join(names)
