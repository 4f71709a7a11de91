"""One invented child's way through the classes, day by day.

The engine is folded forward one class day at a time, so that a child does only what is
allowed on that day, and people decide only what the record gives on that day.
"""

import datetime
import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from random import Random
from typing import Any

from readiness.demo.calendar import Evening
from readiness.demo.decisions import Deed, Desk, event_of
from readiness.demo.drill_choice import Pick, picks, picks_so_far
from readiness.demo.ids import uuid7
from readiness.demo.learning import fault_seen
from readiness.demo.pupils import Pupil
from readiness.engine.evidence import Evidence
from readiness.engine.gates import ClearGate
from readiness.engine.ladder import Drill
from readiness.engine.levels import Support
from readiness.engine.reading import with_todays_events
from readiness.engine.replay.days import beginning, end_day, start_day
from readiness.engine.replay.events import Event
from readiness.engine.support import Allowed, allowed_now
from readiness.engine.tallies import Tally, Turn, tally_turns
from readiness.record.ladders import NamedLadder

ABSENT = 0.07
# Of the turns that are not clean: how often it is a stop sign.
STOP_SIGN, STOP_SIGN_AT_SKILL = 0.015, 0.05
# Decisions come within an hour after the class.
AFTER = datetime.timedelta(hours=1)


@dataclass(frozen=True)
class Line:
    """A line of the floor call as a tablet would send it, and who logged it at which class."""

    evening: Evening
    by: str
    raw: Mapping[str, Any]


@dataclass
class Life:
    """What came of it: the lines, what people decided, and the days as they fold."""

    lines: list[Line] = field(default_factory=list)
    deeds: list[Deed] = field(default_factory=list)
    turns: dict[tuple[str, datetime.date], list[Turn]] = field(default_factory=dict)
    tallies: dict[tuple[str, datetime.date], list[Tally]] = field(default_factory=dict)


@dataclass(frozen=True)
class World:
    """What all children share: the ladders by day, the staff's keys and who grades."""

    ladders: Mapping[datetime.date, NamedLadder]
    staff: Mapping[str, int]
    graders: frozenset[str]
    directors: Sequence[str]
    now: datetime.datetime

    @cached_property
    def clear_waits(self) -> set[tuple[str, int]]:
        """Drill and days to wait after a stop sign, where a stage opens without a signature."""
        return {
            (gate.drill, gate.days)
            for ladder in self.ladders.values()
            for stage in ladder.engine.stages
            if not stage.sign_off
            for gate in stage.gates
            if isinstance(gate, ClearGate)
        }

    def ladder_on(self, day: datetime.date) -> NamedLadder:
        first = [since for since in self.ladders if since <= day]
        return self.ladders[max(first) if first else min(self.ladders)]


def live(pupil: Pupil, world: World, seed: int) -> Life:
    """Walk the child through all its evenings; today's is left when it has just begun."""
    return _Walk(pupil, world, Random(f"{seed} life {pupil.at}")).whole()


class _Walk:
    def __init__(self, pupil: Pupil, world: World, chance: Random) -> None:
        self.pupil, self.world, self.chance = pupil, world, chance
        self.life = Life()
        self.evidence = Evidence()
        first = pupil.evenings[0].day
        self.state = beginning(first, lambda day: world.ladder_on(day).engine)
        self.desk = Desk(pupil, world.directors, chance)
        self.last_done: dict[str, datetime.date] = {}
        self.turns_before: Counter[str] = Counter()
        self.ladder = world.ladder_on(first)
        self.waited = {since for since in world.ladders if since > first}

    def whole(self) -> Life:
        for evening in self.pupil.evenings:
            self._evening(evening)
        return self.life

    def _evening(self, evening: Evening) -> None:
        self.ladder = self.world.ladder_on(evening.day)
        under_way = evening.ends + AFTER > self.world.now
        here = self._is_here(evening.day)
        self._say(evening, evening.main, self._moment(evening, 0), kind="here", present=here)
        if not here:
            return
        ladder = self.ladder.engine
        self._days_between(evening.day)
        start_day(self.state, self.evidence, evening.day, ladder)
        events = self._hurt(evening)
        self.today: list[Turn] = []
        self.current = with_todays_events(self.state, events, ladder) if events else self.state
        chosen = picks_so_far if under_way else picks
        for at, pick in enumerate(chosen(self.pupil, evening, self, self.chance)):
            self._turns_at(evening, pick, at)
        self._fold(evening.day)
        if under_way:
            return
        deeds = self.desk.after_class(evening, self.current, self.evidence, self.ladder, self.today)
        self.life.deeds += deeds
        events += [event for deed in deeds if (event := event_of(deed)) is not None]
        end_day(self.state, self.evidence, events, ladder)

    def _days_between(self, day: datetime.date) -> None:
        """Days without a class on which time alone may open a stage, as in the engine's walk."""
        for between in sorted(each for each in self.waited if each < day):
            ladder = self.world.ladder_on(between).engine
            start_day(self.state, self.evidence, between, ladder)
            end_day(self.state, self.evidence, [], ladder)
        self.waited = {each for each in self.waited if each > day}

    def _is_here(self, day: datetime.date) -> bool:
        story = self.pupil.story
        if day >= story.away_from:
            return False
        recent = (self.world.now.date() - day).days < 60
        return (story.told and recent) or self.chance.random() >= ABSENT

    def _moment(self, evening: Evening, seconds: float) -> datetime.datetime:
        """So long after the class began, each child a little after the one before.

        Of a class that has yet to begin, in the minutes before now, but on its day.
        """
        at = evening.starts + datetime.timedelta(seconds=seconds + 5 * self.pupil.at)
        if at <= self.world.now:
            return at
        back = max(1.0, 900 - seconds / 4 - self.pupil.at)
        at = self.world.now - datetime.timedelta(seconds=back)
        first = evening.midnight + (self.world.now - evening.midnight) * seconds / 10_000
        return max(at, first)

    def _say(self, evening: Evening, by: str, at: datetime.datetime, **said: object) -> uuid.UUID:
        id_ = uuid7(at, self.chance)
        line = {"id": str(id_), "at": at.isoformat(), "child": str(self.pupil.id), **said}
        self.life.lines.append(Line(evening, by, line))
        return id_

    def _hurt(self, evening: Evening) -> list[Event]:
        place = self.pupil.story.hurts.get(evening.day)
        if place is None:
            return []
        at = self._moment(evening, 120)
        id_ = self._say(evening, evening.main, at, kind="hurt", place=place)
        return [Event("pain", evening.day, at, str(id_), place=place)]

    # --- turns -----------------------------------------------------------------------

    def _turns_at(self, evening: Evening, pick: Pick, station: int) -> None:
        drill = self.ladder.engine.drills[pick.drill]
        allowed: Allowed | None = None
        for number in range(pick.turns):
            if allowed is None or number == 1 or self.today[-1].clean is False:
                allowed = self._allowed(drill, evening.surface)
            if allowed.support is None:
                return
            at = self._moment(evening, 240 + 450 * station + 85 * number)
            self._turn(evening, drill, allowed.support, pick.by, at, number)
        self.last_done[drill.key] = evening.day

    def _allowed(self, drill: Drill, surface: str) -> Allowed:
        ladder = self.ladder.engine
        return allowed_now(drill, self.current, self.evidence, ladder, surface, self.today)

    def _turn(
        self,
        evening: Evening,
        drill: Drill,
        allowed: Support,
        by: str,
        at: datetime.datetime,
        number: int,
    ) -> None:
        support, more = int(allowed) if drill.support_logged else 0, {}
        if self._is_bold(evening.day, number, support):
            support, more = support - 1, {"allowed": support, "less": "judged-right"}
        elif number and 0 < support < 3 and self.chance.random() < 0.03:
            support += 1
        outcome = self._outcome(drill, support, evening.day, number)
        said: dict[str, Any] = {"drill": drill.key, "surface": evening.surface, **outcome, **more}
        if drill.support_logged:
            said["support"] = support
        self.turns_before[drill.key] += 1
        id_ = self._say(evening, by, at, kind="turn", **said)
        self.today.append(
            Turn(
                id=str(id_),
                drill=drill.key,
                surface=evening.surface,
                support=support,
                author=self.world.staff[by],
                day=evening.day,
                at=at,
                graded=by in self.world.graders,
                clean=outcome.get("clean"),
                value=outcome.get("value"),
                caught=outcome.get("caught", False),
                faults=tuple(outcome.get("faults", ())),
            )
        )

    def _is_bold(self, day: datetime.date, number: int, support: int) -> bool:
        """Once in these weeks a coach gives less support than the record allows."""
        first = not any("less" in line.raw for line in self.life.lines)
        return day >= self.pupil.story.bold_from and number == 1 and support >= 2 and first

    def _outcome(
        self, drill: Drill, support: int, day: datetime.date, number: int
    ) -> dict[str, Any]:
        learner, story = self.pupil.learner, self.pupil.story
        sure = drill.key in story.sure and day >= story.sure_from
        if drill.measure != "clean":
            value = learner.value(drill, day, self.chance)
            return {"value": max(value, 2.0) if sure and drill.measure == "grade" else value}
        is_skill = drill.key in SKILLS
        if day == story.stop_on and is_skill and number == 1:
            return {"clean": False, "caught": True, "faults": ["half-hearted"]}
        likely = learner.clean_chance(drill.key, support, day, self.turns_before[drill.key])
        if sure:
            last_weeks = (self.world.now.date() - day).days <= 28
            likely = 1.0 if number == 0 or last_weeks else 0.95
        elif drill.key == story.shaky and day >= story.shaky_from:
            likely = 0.05
        if self.chance.random() < likely:
            return {"clean": True}
        often = STOP_SIGN_AT_SKILL if is_skill else STOP_SIGN
        stop = not sure and drill.key != story.shaky and self.chance.random() < often
        if stop and support >= 2 and self.chance.random() < 0.4:
            return {"clean": False, "caught": True}
        faults = self._fault(drill, support, stop)
        return {"clean": False, **({"faults": list(faults)} if faults else {})}

    def _fault(self, drill: Drill, support: int, stop: bool) -> tuple[str, ...]:
        faults = self.ladder.content["fault"]
        fitting = [
            (fault["key"], fault["root"], _stops(fault["stop"], support))
            for fault in faults
            if drill.key in fault["belongs"]
        ]
        return fault_seen(fitting, stop, self.chance)

    def _fold(self, day: datetime.date) -> None:
        by_drill: dict[str, list[Turn]] = defaultdict(list)
        for turn in self.today:
            by_drill[turn.drill].append(turn)
        for drill, turns in by_drill.items():
            tallies = tally_turns(turns, self.ladder.engine.stops)
            self.life.turns[drill, day] = turns
            self.life.tallies[drill, day] = tallies
            self.evidence.add(tallies)
            if any(tally.stop_signs for tally in tallies):
                waits = [wait for key, wait in self.world.clear_waits if key == drill]
                self.waited |= {day + datetime.timedelta(days=wait) for wait in waits}


SKILLS = frozenset({"back-walkover", "handspring", "two-handsprings", "roundoff-handspring"})


def _stops(stop: str, support: int) -> str:
    """A fault that is a stop sign only without hands, at this support."""
    if stop == "unheld":
        return "yes" if support <= Support.STANDING_BY else "no"
    return stop
