"""Where to call from, and which number: what is said of it, and what is still missing.

Shared: used by the floor, tonight, begin and every page's frame.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from studio.models import Location, Staff


@dataclass(frozen=True)
class Emergency:
    """A hall's emergency number and address, "" where none is entered, and whether somebody said
    that they are right. The program assumes no number."""

    number: str
    address: str
    confirmed: bool


def emergency_of(location: Location) -> Emergency:
    number, address = location.emergency_number, location.address
    return Emergency(number, address, bool(number) and location.confirmed_on is not None)


def unready(locations: QuerySet[Location]) -> QuerySet[Location]:
    """Those whose number or address is missing or not confirmed, by name."""
    missing = Q(emergency_number="") | Q(address="") | Q(confirmed_on=None)
    return locations.filter(missing).order_by("name", "pk")


def missing_sentences(location: Location) -> list[str]:
    """What is missing at a hall, a sentence each; none where all is there."""
    known = emergency_of(location)
    hall = {"hall": location.name, "number": known.number}
    sentences = []
    if not known.number:
        sentences.append(_("%(hall)s: the emergency number is missing.") % hall)
    if not known.address:
        sentences.append(_("%(hall)s: the address is missing.") % hall)
    if known.number and not known.confirmed:
        sentences.append(_("%(hall)s: the emergency number, %(number)s, is not confirmed.") % hall)
    return sentences


def all_missing(locations: Iterable[Location]) -> list[str]:
    return [sentence for hall in locations for sentence in missing_sentences(hall)]


def confirm(location: Location, number: str, address: str, by: Staff, today: datetime.date) -> None:
    """Store what a director typed. It counts as confirmed once there is a number."""
    location.emergency_number, location.address = number, address
    location.confirmed_on, location.confirmed_by = (today, by) if number else (None, None)
    location.save(update_fields=["emergency_number", "address", "confirmed_on", "confirmed_by"])
