"""What one child does in one class, and with whom."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Protocol

from readiness.demo.calendar import Evening
from readiness.demo.cast import Pupil
from readiness.engine.ladder import Ladder
from readiness.engine.state import ChildState
from readiness.engine.support import is_open
from readiness.ladders import NamedLadder

# The two tracks of the ladder, and the drills that lead in to the next rung of each.
BACK = ("2", "3", "4")
SPRING = ("5", "6", "7", "8", "9", "9/two-handsprings", "9/roundoff-handspring")
ALONGSIDE = ("rebound", "jump-back", "kick-to-handstand", "bridge-rocks", "swing-jump")
TURNS = {"clean": (2, 4), "seconds": (1, 2), "reps": (1, 2), "grade": (2, 3)}


@dataclass(frozen=True)
class Pick:
    """So many turns at a drill, logged by one of the staff."""

    drill: str
    turns: int
    by: str


class Walker(Protocol):
    """What the choice looks at: where the child stands, and when each drill was last done."""

    @property
    def state(self) -> ChildState: ...
    @property
    def ladder(self) -> NamedLadder: ...
    @property
    def last_done(self) -> Mapping[str, date]: ...


def picks(pupil: Pupil, evening: Evening, walker: Walker, chance: Random) -> list[Pick]:
    """The station that everybody begins at, what the next rungs ask, then the skills."""
    ladder = walker.ladder.engine
    chosen = [_pick(evening.station, ladder, evening.helper, evening, chance)]
    wanted = [drill for drill in _wanted(walker.state, ladder) if drill != evening.station]
    wanted.sort(key=lambda drill: walker.last_done.get(drill, date.min))
    for drill in wanted[:3]:
        chosen.append(_pick(drill, ladder, evening.main, evening, chance))
    if chance.random() < 0.3:
        extra = [
            d for d in ALONGSIDE if d not in wanted and is_open(ladder.drills[d], walker.state)
        ]
        chosen.append(_pick(chance.choice(extra), ladder, evening.main, evening, chance))
    for skill in _skills(walker.state, walker.last_done, evening.day, chance):
        chosen.append(Pick(skill, chance.randint(3, 5), evening.main))
    return chosen


def picks_so_far(pupil: Pupil, evening: Evening, walker: Walker, chance: Random) -> list[Pick]:
    """The class has only just begun: some of the children have had their first turns."""
    if pupil.at % 4:
        return []
    return [Pick("hollow-hold", 1, evening.main), Pick("kick-to-handstand", 3, evening.main)]


def _pick(drill: str, ladder: Ladder, by: str, evening: Evening, chance: Random) -> Pick:
    measure = ladder.drills[drill].measure
    return Pick(drill, chance.randint(*TURNS[measure]), by if measure != "grade" else evening.main)


def _wanted(state: ChildState, ladder: Ladder) -> list[str]:
    """Drills that the next rung of each track asks for, those open to the child."""
    wanted: list[str] = []
    for track in (BACK, SPRING):
        rungs = [code for code in track if code not in state.opened]
        for code in rungs[:1] if "/" not in (rungs or [""])[0] else rungs:
            for gate in ladder.stage[code].gates:
                wanted.extend(_ways_in(gate.drill, state, ladder))
    skills = {skill for stage in ladder.stages for skill in stage.skills}
    return [drill for drill in dict.fromkeys(wanted) if drill not in skills]


def _ways_in(drill: str, state: ChildState, ladder: Ladder) -> list[str]:
    """The drill if it is open, else the open drills that it waits for."""
    about = ladder.drills[drill]
    if is_open(about, state):
        return [drill]
    if about.stage not in state.opened:
        return []
    return [each for gate in about.needs for each in _ways_in(gate.drill, state, ladder)]


def _skills(
    state: ChildState, last_done: Mapping[str, date], day: date, chance: Random
) -> list[str]:
    """The furthest skill; the walkover beside it every other week; a dance now and then."""
    if "9" in state.opened:
        found = ["two-handsprings", "roundoff-handspring"]
    else:
        found = ["handspring"] if "6" in state.opened else []
    beside = [("handspring", "9"), ("back-walkover", "3")]
    for drill, stage in beside:
        last = last_done.get(drill, date.min)
        if stage in state.opened and drill not in found and (not found or (day - last).days > 9):
            found.append(drill)
    for drill, stage in (("walkover-in-dance", "4"), ("handspring-in-dance", "8")):
        if stage in state.opened and chance.random() < 0.12:
            found.append(drill)
    return found
