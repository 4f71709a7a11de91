"""Who may spot what on a day, and the studio's own numbers.

Shared: used by the page of spotters and by the floor's pack. The rule is
readiness/engine/evening/spotters.py. 10, 8 and 6 children to an adult: common practice, no source.
"""

import datetime
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from progression.models import Drill
from readiness.engine.evening.spotters import YOUNGEST, Training, Unfit, why_unfit
from readiness.models import RoomNumbers, SpotterTraining, YoungestSpotter
from readiness.record.ladders import NamedLadder
from studio.models import Staff

# At this stage and later ones what is held is a handspring.
HANDSPRINGS_FROM = 6
USUAL, WITH_HANDSPRINGS, WITH_SMALL = 10, 8, 6
SMALL_UNTIL = 7


@dataclass(frozen=True)
class Spotters:
    """trainings: the latest by member of staff and drill; youngest: in whole years, by drill."""

    trainings: dict[tuple[int, str], SpotterTraining]
    youngest: dict[str, int]

    def why_not(self, staff: int, drill: str, day: datetime.date) -> Unfit | None:
        row = self.trainings.get((staff, drill))
        training = None if row is None else Training(row.day, row.age, row.until)
        return why_unfit(training, self.youngest.get(drill, YOUNGEST), day)


def spotters_of(staff: Collection[int]) -> Spotters:
    rows = SpotterTraining.objects.filter(staff__in=staff).select_related("drill", "staff")
    ages = YoungestSpotter.objects.order_by("at", "pk").values_list("drill__key", "years")
    return Spotters(
        {(row.staff_id, row.drill.key): row for row in rows.order_by("at", "pk")}, dict(ages)
    )


def held_drills(ladder: NamedLadder) -> list[str]:
    """Those that a spotter holds or stands ready at, on all days or on the first ones."""
    return [key for key, drill in ladder.engine.drills.items() if drill.spotted]


def held_handsprings(ladder: NamedLadder) -> list[str]:
    return [key for key in held_drills(ladder) if ladder.drills[key]["stage"] >= HANDSPRINGS_FROM]


def most_to_an_adult() -> dict[str, int]:
    """The studio's numbers; those that nobody has changed otherwise."""
    row = RoomNumbers.objects.order_by("-at", "-pk").first()
    if row is None:
        return {"usual": USUAL, "handsprings": WITH_HANDSPRINGS, "small": WITH_SMALL}
    return {"usual": row.usual, "handsprings": row.handsprings, "small": row.small}


def write_down(
    staff: Staff,
    drills: Iterable[str],
    by: Staff,
    now: datetime.datetime,
    day: datetime.date,
    trained_by: str,
    until: datetime.date,
    age: int,
) -> None:
    about = {"trained_by": trained_by, "until": until, "age": age, "by": by, "at": now, "day": day}
    SpotterTraining.objects.bulk_create(
        SpotterTraining(staff=staff, drill=drill, **about)
        for drill in Drill.objects.filter(key__in=drills).order_by("key")
    )


def set_youngest(drill: str, years: int, by: Staff, now: datetime.datetime) -> None:
    """The youngest age at which somebody may spot a drill, in whole years."""
    about = {"drill": Drill.objects.get(key=drill), "years": years}
    YoungestSpotter.objects.create(**about, by=by, at=now)


def set_most_to_an_adult(numbers: dict[str, int], by: Staff, now: datetime.datetime) -> None:
    """``numbers``: as most_to_an_adult() gives them."""
    RoomNumbers.objects.create(**numbers, by=by, at=now)
