"""A hall's emergency card: where to call from, which number, and who does what; what is said of it,
and what is still missing.

Shared: used by the floor, tonight, begin and every page's frame.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from studio.as_seen import mark, refuse_if_changed
from studio.lists import csv_text
from studio.models import Location, Staff

CARD = (
    "emergency_number",
    "address",
    "door",
    "first_aid_kit",
    "defibrillator",
    "who_phones",
    "who_meets",
    "phone",
    "questions",
)
# The last two are for families, and no part of what is read out to an ambulance.
MORE = CARD[2:-2]


@dataclass(frozen=True)
class Emergency:
    """A hall's emergency number and address, "" where none is entered, and whether somebody said
    that they are right. The program assumes no number. ``card``: what else is entered, by field."""

    number: str
    address: str
    confirmed: bool
    card: Mapping[str, str] = field(default_factory=dict)


def emergency_of(location: Location) -> Emergency:
    number, address = location.emergency_number, location.address
    more = {field: getattr(location, field) for field in MORE if getattr(location, field)}
    return Emergency(number, address, bool(number) and location.confirmed_on is not None, more)


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


def card_of(location: Location) -> dict[str, str]:
    return {field: getattr(location, field) for field in CARD}


def card_mark(location: Location) -> str:
    """Of what its form was shown with."""
    return mark(card_of(location), location.confirmed_on)


def confirm(
    location: Location, said: Mapping[str, str], seen: str, by: Staff, today: datetime.date
) -> None:
    """Store the card as a director typed it. It counts as confirmed once there is a number.

    Raises ChangedMeanwhile.
    """
    with transaction.atomic():
        hall = Location.objects.select_for_update(no_key=True).get(pk=location.pk)
        refuse_if_changed(seen, card_of(hall), hall.confirmed_on)
        for field in CARD:
            setattr(hall, field, said[field])
        hall.confirmed_on, hall.confirmed_by = (
            (today, by) if hall.emergency_number else (None, None)
        )
        hall.save(update_fields=[*CARD, "confirmed_on", "confirmed_by"])


def halls_file(halls: Iterable[Location]) -> str:
    """The emergency cards for a spreadsheet."""
    columns = [
        _("hall"),
        _("emergency number"),
        _("address"),
        _("door"),
        _("first-aid kit"),
        _("defibrillator"),
        _("who phones"),
        _("who meets"),
        _("telephone for families"),
        _("where and when families can ask"),
        _("confirmed on"),
    ]
    rows = (
        (hall.name, *(getattr(hall, field) for field in CARD), hall.confirmed_on) for hall in halls
    )
    return csv_text(columns, rows)
