"""What the floor's pack says of the spotters of an evening; the tablet counts (rules/room.js)."""

import datetime
import uuid
from collections.abc import Iterable
from typing import Any, NamedTuple

from readiness.record.ladders import NamedLadder
from readiness.spotters.trained import (
    SMALL_UNTIL,
    held_drills,
    held_handsprings,
    most_to_an_adult,
    spotters_of,
)
from readiness.spotters.words import lapsed
from studio.models import Child, Staff


class Adult(NamedTuple):
    """The columns of somebody of the evening's staff."""

    uuid: uuid.UUID
    pk: int
    role: str
    first_name: str
    last_name: str
    username: str

    @property
    def called(self) -> str:
        return f"{self.first_name} {self.last_name}".strip() or self.username


def spotters_tonight(
    people: Iterable[Adult], ladder: NamedLadder, day: datetime.date
) -> dict[str, Any]:
    """coaches: the adults; an assistant may be a child still. none: the held drills that nobody of
    them may spot, null where nothing was ever written down of anybody here."""
    coaches = {each.pk: each.called for each in people if each.role != Staff.Role.ASSISTANT}
    found, drills = spotters_of(coaches), held_drills(ladder)
    none = [drill for drill in drills if all(found.why_not(each, drill, day) for each in coaches)]
    return {
        "coaches": len(coaches),
        "none": none if found.trainings else None,
        "lapsed": lapsed(coaches, drills, found, ladder, day),
        "most": most_to_an_adult(),
        "handsprings": held_handsprings(ladder),
    }


def is_small(child: Child, day: datetime.date) -> bool:
    """Under 7; of whom nobody has said when they were born: no."""
    age = child.age_on(day)
    return age is not None and age < SMALL_UNTIL
