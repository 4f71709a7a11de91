"""What a child may do on an evening, and what a station there is worth to the child.

What it is worth, in points to 1000: common practice, no source. No child's page shows points.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Literal

from readiness.engine.causes.mending import mending_drills
from readiness.engine.causes.roots import causes
from readiness.engine.ladder import Ladder, Stage
from readiness.engine.lead_in.path import lead_in_path
from readiness.engine.levels import Support
from readiness.engine.reading import CLOSED, RE_CHECK
from readiness.engine.stations.problem import Work
from readiness.engine.support import Allowed, allowed_at_start, allowed_now
from readiness.engine.tallies import Turn
from readiness.record.standings import Reading

Code = Literal["left-out", "way-back", "holds", "gate", "cause", "lead-in"]
POINTS: Mapping[Code, int] = {
    "left-out": 600, "way-back": 500, "holds": 400, "gate": 250, "cause": 200, "lead-in": 80,
}  # fmt: skip
MOST_POINTS = 1000
# What a child goes without is said from so many points of one reason on.
NEEDED = POINTS["holds"]
# What only the first turn of a day asks for.
OF_FIRST_TURN = {"first-turn", "until-clean"}


@dataclass(frozen=True)
class Reason:
    """Why a drill is worth it. ``about``: of a gate the stage's code, of a cause the strand."""

    code: Code
    about: str = ""

    @property
    def points(self) -> int:
        return POINTS[self.code]


@dataclass(frozen=True)
class Need:
    """A drill that a child may do tonight, with the reasons for it, the strongest first."""

    work: Work
    reasons: tuple[Reason, ...]

    @property
    def is_needed(self) -> bool:
        return any(reason.points >= NEEDED for reason in self.reasons)


def needs_of(
    reading: Reading, turns: Sequence[Turn], surface: str, left_out: Set[str] = frozenset()
) -> dict[str, Need]:
    """By drill, in the ladder's order; none of a child who may do nothing. ``turns``: those of the
    weeks in which causes are looked for; ``left_out``: planned lately, and not done."""
    reasons = _reasons(reading, turns)
    for key in left_out & reasons.keys():
        reasons[key].append(Reason("left-out"))
    found = {}
    for key in reading.ladder.drills:
        asked = _spotters(reading, key, surface)
        if asked is not None:
            spotters, first = asked
            own = sorted(reasons.get(key, ()), key=lambda reason: -reason.points)
            worth = min(MOST_POINTS, sum(reason.points for reason in own))
            found[key] = Need(Work(key, worth, spotters, first), tuple(own))
    return found


def _spotters(reading: Reading, key: str, surface: str) -> tuple[int, int | None] | None:
    """How many spotters the support asks for, and the first turn of the day if it asks for more.
    None: not this drill tonight."""
    drill, state = reading.ladder.engine.drills[key], reading.read.state
    about = reading.evidence, reading.ladder.engine, surface
    now = allowed_now(drill, state, *about, reading.turns)
    if now.support is None:
        return None
    asked = _count(reading, key, now)
    if now.causes and set(now.causes) <= OF_FIRST_TURN:
        later = allowed_at_start(drill, state, reading.ladder.engine, surface)
        return _count(reading, key, later), asked
    return asked, None


def _count(reading: Reading, key: str, allowed: Allowed) -> int:
    """A drill that is not taught with a spotter has none; the adult of its card stands there."""
    if not reading.ladder.engine.drills[key].spotted or allowed.support is Support.UNSPOTTED:
        return 0
    drill, evidence = reading.ladder.drills[key], reading.evidence
    first_days = drill.get("first_days_spotters")
    if first_days and allowed.support is Support.HANDS_ON:
        days = len(evidence.days(key, reading.read.day - datetime.timedelta(days=1)))
        if days + (key in evidence.before.drills) < first_days["days"]:
            return int(first_days["spotters"])
    return max(1, int(drill["spotters"]))


def _reasons(reading: Reading, turns: Sequence[Turn]) -> dict[str, list[Reason]]:
    """By drill; of one code the same drill has one reason."""
    found: dict[str, dict[Code, Reason]] = defaultdict(dict)
    for drill, reason in _all_reasons(reading, turns):
        found[drill].setdefault(reason.code, reason)
    return {drill: list(own.values()) for drill, own in found.items()}


def _all_reasons(reading: Reading, turns: Sequence[Turn]) -> Iterator[tuple[str, Reason]]:
    read, ladder = reading.read, reading.ladder.engine
    watched = {
        key for stage in read.stages if stage.state == RE_CHECK for key in stage.stage.skills
    }
    for back in read.ways_back:
        # Of a drill that only led to something long open there is no way to go back.
        if back.drill in watched:
            yield back.drill, Reason("way-back")
    for stage in read.stages:
        if stage.state != CLOSED or stage.waits_for or _is_of_a_dance(stage.stage, ladder):
            continue
        for gate in stage.gates:
            if not gate.met:
                code: Code = "holds" if gate is stage.holding else "gate"
                for drill in gate.gate.drills:
                    yield drill, Reason(code, stage.stage.code)
    for drill, root in _mending(reading, turns):
        yield drill, Reason("cause", root)
    path = lead_in_path(read, ladder, reading.child.age_on(read.day))
    for gate in path.terms[0] if path and path.terms else ():
        for drill in gate.gate.drills:
            yield drill, Reason("lead-in")


def _is_of_a_dance(stage: Stage, ladder: Ladder) -> bool:
    """A skill in a dance is worked at for its show, not at a station."""
    drills = [ladder.drills[key] for key in stage.skills]
    return bool(drills) and all(
        drill.key not in ladder.stage[drill.stage].skills for drill in drills
    )


def _mending(reading: Reading, turns: Sequence[Turn]) -> Iterator[tuple[str, str]]:
    """What mends the first cause of the drill with the most misses that has one."""
    day, ladder = reading.read.day, reading.ladder.engine
    drills = sorted({turn.drill for turn in turns} & reading.ladder.drills.keys())
    read = [causes(turns, drill, day, ladder) for drill in drills]
    named = [each for each in read if each.first is not None]
    if not named:
        return
    worst = max(named, key=lambda each: each.marked)
    assert worst.first is not None
    about = reading.read.state, reading.evidence, ladder, reading.turns
    for mends in mending_drills(worst.first, worst.drill, *about):
        yield mends, worst.first.key
