"""How long what happened to a child keeps its record: until the child is an adult, and for the time
in which claims may be made after that. How long that is says the studio, by the law of its place.
"""

import calendar
import datetime
from dataclasses import dataclass

from django.conf import settings

from readiness.record.told.incidents import incidents_of
from studio.models import Child

FIRST = datetime.date(1900, 1, 1)


@dataclass(frozen=True)
class Kept:
    """``until``: the last day; None while nobody has said how long, or when the child was born
    (``code``: "no-rule", "no-birth")."""

    incidents: int
    until: datetime.date | None
    code: str = ""


def kept_for(child: Child, today: datetime.date) -> Kept | None:
    """What keeps this child's record; None if nothing happened, or the time is over."""
    own = Child.objects.filter(pk=child.root)
    found = incidents_of(own, FIRST, today)
    if not found:
        return None
    if settings.INCIDENT_CLAIM_YEARS is None:
        return Kept(len(found), None, "no-rule")
    if child.birth_year is None:
        return Kept(len(found), None, "no-birth")
    month = child.birth_month or 12
    last = calendar.monthrange(child.birth_year, month)[1]
    adult = years_after(datetime.date(child.birth_year, month, last), settings.ADULT_AT)
    begins = max(adult, *(each.day for each in found))
    until = years_after(begins, settings.INCIDENT_CLAIM_YEARS)
    return Kept(len(found), until) if today <= until else None


def years_after(day: datetime.date, years: int) -> datetime.date:
    """The same day of the year; 29 February becomes 28 where there is none."""
    year = day.year + years
    return day.replace(year=year, day=min(day.day, calendar.monthrange(year, day.month)[1]))
