"""Who was trained to spot what: for all drills, for some, until a day that is over, too young."""

import datetime
from collections.abc import Iterator
from functools import partial

from readiness.demo.names import STAFF
from readiness.demo.recent_weeks import Step
from readiness.demo.rooms.scene import Scene
from readiness.record.ladders import Ladders
from readiness.spotters.trained import held_drills, held_handsprings, set_youngest, write_down

YEAR = 365
# Of whom, how many days ago, in years, by whom, and whether for handsprings too.
TRAININGS = (
    ("amadea", 100, 44, "Bastião Quintelo", True),
    ("bastiao", 100, 51, "Amadea Thornquist", True),
    ("rui", 150, 33, "Amadea Thornquist", True),
    ("ximena", 150, 29, "Amadea Thornquist", True),
    ("oona", YEAR + 12, 38, "Bastião Quintelo", True),
    ("teodor", 60, 26, "Bastião Quintelo", False),
    ("liv", 40, 17, "Ximena Orduñez", False),
)
# One drill that a younger person spots too, on a raised mat beside a coach.
YOUNGER = ("back-bend-raised", 16)


def spotter_steps(scene: Scene) -> Iterator[Step]:
    at = scene.days_ago(YEAR + 20)
    yield at, "2 youngest", partial(set_youngest, *YOUNGER, scene.staff(STAFF[0].username), at)
    for training in TRAININGS:
        at = scene.days_ago(training[1])
        yield at, f"2 training {training[0]}", partial(_train, scene, at, training)


def _train(scene: Scene, at: datetime.datetime, training: tuple[str, int, int, str, bool]) -> None:
    username, _days, age, trained_by, handsprings = training
    ladder = Ladders().named_on(at.date())
    left_out = () if handsprings else held_handsprings(ladder)
    drills = [drill for drill in held_drills(ladder) if drill not in left_out]
    until = at.date() + datetime.timedelta(days=YEAR)
    director = scene.staff(STAFF[0].username)
    write_down(scene.staff(username), drills, director, at, at.date(), trained_by, until, age)
