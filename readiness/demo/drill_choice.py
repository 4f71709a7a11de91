"""Which drills one child does in one class, how often, and who logs the turns."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from readiness.demo.calendar import Evening
from readiness.demo.pupils import Pupil
from readiness.engine.ladder import Ladder
from readiness.engine.replay.state import ChildState
from readiness.engine.support import is_open

# The two tracks of the ladder, by stage.
BACK = ("2", "3", "4")
SPRING = ("5", "6", "7", "8", "9", "9/two-handsprings", "9/roundoff-handspring")
EXTRA_DRILLS = (
    "rebound", "jump-back", "kick-to-handstand", "bridge-rocks", "swing-jump", "sit-in-arms",
    "wall-shrugs-upright", "kick-over-floor", "roundoff-rebound", "free-handstand",
)  # fmt: skip
# A drill that is held, counted or graded is not due again so soon.
REPEAT_AFTER = timedelta(days=18)
# A coach works on one track for so many days, then on the other.
DAYS_PER_TRACK = 56
TURNS = {"clean": (2, 4), "seconds": (1, 2), "reps": (1, 2), "grade": (2, 3)}


@dataclass(frozen=True)
class DrillChoice:
    """by: the username of who logs the turns."""

    drill: str
    turns: int
    by: str


def choose_drills(
    evening: Evening,
    state: ChildState,
    ladder: Ladder,
    last_done: Mapping[str, date],
    rng: Random,
    rehearsed: str = "",
) -> list[DrillChoice]:
    """The station where everybody begins, what the next stages ask for, then the skills;
    ``rehearsed``: a skill in a dance that is done at every class."""

    def choice(drill: str, by: str = evening.main) -> DrillChoice:
        measure = ladder.drills[drill].measure
        turns = rng.randint(*TURNS[measure])
        return DrillChoice(drill, turns, evening.main if measure == "grade" else by)

    choices = [choice(evening.station, evening.helper)]
    due = [d for d in _due_drills(state, ladder, last_done, evening.day) if d != evening.station]
    choices += [choice(drill) for drill in due[:3]]
    if rng.random() < 0.3:
        chosen = {choice.drill for choice in choices}
        extra = [d for d in EXTRA_DRILLS if d not in chosen and is_open(ladder.drills[d], state)]
        choices += [choice(drill) for drill in rng.sample(extra, min(1, len(extra)))]
    skills = _skills(state, last_done, evening.day, rng, rehearsed)
    return choices + [DrillChoice(skill, rng.randint(3, 5), evening.main) for skill in skills]


def choose_first_drills(pupil: Pupil, evening: Evening) -> list[DrillChoice]:
    """For a class that has just begun: every fourth child has had its first turns."""
    if pupil.index % 4:
        return []
    return [
        DrillChoice("hollow-hold", 1, evening.main),
        DrillChoice("kick-to-handstand", 3, evening.main),
    ]


def _due_drills(
    state: ChildState, ladder: Ladder, last_done: Mapping[str, date], day: date
) -> list[str]:
    """Open drills that the next stage of each track asks for.

    Those that may be repeated come first, then those of the current track, then the longest ago.
    """
    skills = {skill for stage in ladder.stages for skill in stage.skills}
    current_track = day.toordinal() // DAYS_PER_TRACK % 2
    order: dict[str, tuple[bool, bool, date]] = {}
    for index, track in enumerate((BACK, SPRING)):
        for code in _next_stages(track, state):
            for gate in ladder.stage[code].gates:
                for drill in _open_drills(gate.drill, state, ladder):
                    last = last_done.get(drill, date.min)
                    too_soon = ladder.drills[drill].measure != "clean" and day - last < REPEAT_AFTER
                    if drill not in skills:
                        order.setdefault(drill, (too_soon, current_track != index, last))
    return sorted(order, key=lambda drill: order[drill])


def _next_stages(track: Sequence[str], state: ChildState) -> list[str]:
    """The next stage of a track; both skills of the last stage at once."""
    closed = [code for code in track if code not in state.opened]
    return [code for code in closed if code == closed[0] or "/" in closed[0]]


def _open_drills(key: str, state: ChildState, ladder: Ladder) -> list[str]:
    """The drill if it is open, else the open drills that it waits for."""
    drill = ladder.drills[key]
    if is_open(drill, state):
        return [key]
    if drill.stage not in state.opened:
        return []
    return [found for gate in drill.needs for found in _open_drills(gate.drill, state, ladder)]


def _skills(
    state: ChildState, last_done: Mapping[str, date], day: date, rng: Random, rehearsed: str
) -> list[str]:
    """The furthest skill; the walkover beside it every other week; a dance now and then."""
    if "9" in state.opened:
        skills = ["two-handsprings", "roundoff-handspring"]
    else:
        skills = ["handspring"] if "6" in state.opened else []
    for drill, stage in (("handspring", "9"), ("back-walkover", "3")):
        rested = (day - last_done.get(drill, date.min)).days > 9
        if stage in state.opened and drill not in skills and (not skills or rested):
            skills.append(drill)
    for drill, stage in (("walkover-in-dance", "4"), ("handspring-in-dance", "8")):
        if stage in state.opened and (drill == rehearsed or rng.random() < 0.12):
            skills.append(drill)
    return skills
