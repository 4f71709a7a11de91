"""What one child does in one class, and with whom."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Protocol

from readiness.demo.calendar import Evening
from readiness.demo.pupils import Pupil
from readiness.engine.ladder import Ladder
from readiness.engine.replay.state import ChildState
from readiness.engine.support import is_open
from readiness.record.ladders import NamedLadder

# The two tracks of the ladder, and the drills that lead in to the next rung of each.
BACK = ("2", "3", "4")
SPRING = ("5", "6", "7", "8", "9", "9/two-handsprings", "9/roundoff-handspring")
ALONGSIDE = ("rebound", "jump-back", "kick-to-handstand", "bridge-rocks", "swing-jump")
ENOUGH_FOR = timedelta(days=18)
# So many days a coach works on one track before the other.
SPELL = 56
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
    ladder, state = walker.ladder.engine, walker.state
    chosen = [_pick(evening.station, ladder, evening.helper, evening, chance)]
    wanted = [each for each in _wanted(walker, evening.day) if each != evening.station]
    for drill in wanted[:3]:
        chosen.append(_pick(drill, ladder, evening.main, evening, chance))
    if chance.random() < 0.3:
        done = {pick.drill for pick in chosen}
        extra = [d for d in ALONGSIDE if d not in done and is_open(ladder.drills[d], state)]
        chosen += [
            _pick(drill, ladder, evening.main, evening, chance)
            for drill in chance.sample(extra, min(1, len(extra)))
        ]
    for skill in _skills(state, walker.last_done, evening.day, chance):
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


def _wanted(walker: Walker, day: date) -> list[str]:
    """Drills that the next rung of each track asks for, those open to the child.

    The longest ago first, of the track that is worked on these weeks; what was held, counted or
    graded lately can wait.
    """
    state, ladder = walker.state, walker.ladder.engine
    skills = {skill for stage in ladder.stages for skill in stage.skills}
    spell = day.toordinal() // SPELL
    found: dict[str, tuple[bool, bool, date]] = {}
    for at, track in enumerate((BACK, SPRING)):
        for code in _next_rungs(track, state):
            gates = ladder.stage[code].gates
            for drill in [each for g in gates for each in _ways_in(g.drill, state, ladder)]:
                last = walker.last_done.get(drill, date.min)
                waits = ladder.drills[drill].measure != "clean" and day - last < ENOUGH_FOR
                if drill not in skills:
                    found.setdefault(drill, (waits, spell % 2 != at, last))
    return sorted(found, key=lambda drill: found[drill])


def _next_rungs(track: Sequence[str], state: ChildState) -> list[str]:
    """The next rung of a track; both skills of the last stage at once."""
    rungs = [code for code in track if code not in state.opened]
    return [code for code in rungs if code == rungs[0] or "/" in rungs[0]]


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
