"""What a hall has for stations: of each thing the latest that was said."""

import datetime
from collections.abc import Iterable, Mapping

from django.utils.translation import gettext_lazy

from readiness.models import HallEquipment
from readiness.record.ladders import NamedLadder
from studio.models import Location, Staff

# Places for a station: the ladder's own word at a wall, ours on the floor.
WALL, FLOOR = "wall-place", HallEquipment.FLOOR
PLACES = {
    WALL: gettext_lazy("Places for a station at the wall"),
    FLOOR: gettext_lazy("Places for a station on the floor"),
}
# Of what nobody has counted (common practice, no source): most halls have floor mats enough.
UNCOUNTED = {"floor-mat": 10, WALL: 3, FLOOR: 8}
UNCOUNTED_OF_A_THING = 1


def things(ladder: NamedLadder) -> dict[str, str]:
    """Names by key: the ladder's equipment, then the places."""
    named = {each["key"]: each["name"] for each in ladder.content["equipment"]}
    named.pop(WALL, None)
    return named | {place: str(name) for place, name in PLACES.items()}


def said_of(halls: Iterable[Location]) -> dict[int, dict[str, HallEquipment]]:
    """By hall and thing the latest row; what nobody has counted is not in it. One query."""
    found: dict[int, dict[str, HallEquipment]] = {hall.pk: {} for hall in halls}
    rows = HallEquipment.objects.filter(hall__in=found).select_related("by", "hall")
    for row in rows.order_by("at", "pk"):
        found[row.hall_id][row.thing] = row
    return found


def counts_of(hall: Location) -> dict[str, int]:
    return {thing: row.count for thing, row in said_of([hall])[hall.pk].items()}


def there_is(hall: Location, ladder: NamedLadder) -> dict[str, int]:
    """How many of each thing, places among them; what nobody has counted as the page says."""
    counted = counts_of(hall)
    return {
        thing: counted.get(thing, UNCOUNTED.get(thing, UNCOUNTED_OF_A_THING))
        for thing in things(ladder)
    }


def write_down(
    hall: Location, counts: Mapping[str, int], by: Staff, now: datetime.datetime
) -> None:
    """Only what has changed is a new row."""
    before = counts_of(hall)
    HallEquipment.objects.bulk_create(
        HallEquipment(hall=hall, thing=thing, count=count, by=by, at=now)
        for thing, count in counts.items()
        if before.get(thing) != count
    )
