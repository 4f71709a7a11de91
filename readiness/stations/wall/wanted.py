"""Whether a hall wants its stations on a screen: not, until a director says so."""

import datetime
from collections.abc import Iterable

from readiness.models import WallScreen
from studio.models import Location, Staff


def wanted_in(halls: Iterable[Location]) -> set[int]:
    """The keys of those that do. One query."""
    rows = WallScreen.objects.filter(hall__in=list(halls)).order_by("at", "pk")
    last = dict(rows.values_list("hall", "wanted"))
    return {hall for hall, wanted in last.items() if wanted}


def is_wanted(hall: Location) -> bool:
    return bool(wanted_in([hall]))


def say_wanted(hall: Location, wanted: bool, by: Staff, now: datetime.datetime) -> None:
    """Nothing is written down that is so already."""
    if is_wanted(hall) != wanted:
        WallScreen.objects.create(hall=hall, wanted=wanted, by=by, at=now)
