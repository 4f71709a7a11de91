"""One invented child's way through the classes, day by day.

The engine's replay goes forward with each class, so that a child does only what is allowed on
that day, and people decide only what the record allows on that day.
"""

import datetime
import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from random import Random
from typing import Any

from progression.log.line_ids import uuid7
from readiness.demo.calendar import Evening
from readiness.demo.decisions import DecisionMaker, DemoDecision, as_event
from readiness.demo.drill_choice import DrillChoice, choose_drills, choose_first_drills
from readiness.demo.learning import choose_faults, weight
from readiness.demo.pupils import Pupil, Story
from readiness.engine.evidence import Evidence
from readiness.engine.gates import ClearGate
from readiness.engine.ladder import Drill
from readiness.engine.levels import Support
from readiness.engine.reading import with_todays_events
from readiness.engine.replay.days import beginning, end_day, start_day
from readiness.engine.replay.events import Event
from readiness.engine.support import Allowed, allowed_now
from readiness.engine.tallies import Tally, Turn, fault_counts, tally_turns
from readiness.record.ladders import NamedLadder

ABSENT = 0.07
# Of the turns that are not clean: how often it is a stop sign.
STOP_SIGN, STOP_SIGN_AT_SKILL = 0.015, 0.05
# Of the turns that were held, counted or graded: how often a fault is looked for.
LOOKED_AT = 0.12
SKILLS = frozenset({"back-walkover", "handspring", "two-handsprings", "roundoff-handspring"})
# Decisions are made within an hour after the class.
DECIDED_WITHIN = datetime.timedelta(hours=1)


@dataclass(frozen=True)
class Line:
    """A line as a tablet would send it, and who logged it at which class."""

    evening: Evening
    by: str
    raw: Mapping[str, Any]


@dataclass
class PupilRecord:
    """Everything that is recorded of one pupil; turns and tallies by drill and day."""

    lines: list[Line] = field(default_factory=list)
    decisions: list[DemoDecision] = field(default_factory=list)
    turns: dict[tuple[str, datetime.date], list[Turn]] = field(default_factory=dict)
    tallies: dict[tuple[str, datetime.date], list[Tally]] = field(default_factory=dict)


@dataclass(frozen=True)
class World:
    """What all pupils share. staff: primary keys by username; graders, directors: usernames."""

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
        past = [since for since in self.ladders if since <= day]
        return self.ladders[max(past) if past else min(self.ladders)]


def simulate(pupil: Pupil, world: World, seed: int) -> PupilRecord:
    """All evenings of the pupil; of one that has just begun, only its first turns."""
    return _Simulation(pupil, world, Random(f"{seed} life {pupil.index}")).run()


class _Simulation:
    def __init__(self, pupil: Pupil, world: World, rng: Random) -> None:
        self.pupil, self.world, self.rng = pupil, world, rng
        self.record = PupilRecord()
        self.evidence = Evidence()
        first = pupil.evenings[0].day
        self.state = beginning(first, lambda day: world.ladder_on(day).engine)
        self.decision_maker = DecisionMaker(pupil, world.directors, world.staff, rng)
        self.last_done: dict[str, datetime.date] = {}
        self.turns_before: Counter[str] = Counter()
        self.ladder = world.ladder_on(first)
        # Days on which something may change without a class.
        told = {each.day for each in pupil.story.head}
        self.days_due = {since for since in (*world.ladders, *told) if since > first}

    def run(self) -> PupilRecord:
        for evening in self.pupil.evenings:
            self._evening(evening)
        return self.record

    def _evening(self, evening: Evening) -> None:
        self.ladder = self.world.ladder_on(evening.day)
        under_way = evening.ends + DECIDED_WITHIN > self.world.now
        present = self._is_present(evening.day)
        self._log(evening, evening.main, self._moment(evening, 0), kind="here", present=present)
        if not present:
            return
        ladder = self.ladder.engine
        self._replay_days_before(evening.day)
        start_day(self.state, self.evidence, evening.day, ladder)
        events = [*self._pain(evening), *self._told_of_head(evening.day)]
        self.today: list[Turn] = []
        self.current = with_todays_events(self.state, events, ladder) if events else self.state
        if under_way:
            choices = choose_first_drills(self.pupil, evening)
        else:
            story = self.pupil.story
            rehearsed = story.rehearses if evening.day >= story.strong_from else ""
            choices = choose_drills(
                evening, self.state, ladder, self.last_done, self.rng, rehearsed
            )
        for station, choice in enumerate(choices):
            self._turns_at(evening, choice, station)
        self._tally(evening.day)
        if under_way:
            return
        decisions = self.decision_maker.after_class(
            evening, self.current, self.evidence, self.ladder, self.today
        )
        self.record.decisions += decisions
        events += [event for each in decisions if (event := as_event(each)) is not None]
        end_day(self.state, self.evidence, events, ladder)

    def _replay_days_before(self, day: datetime.date) -> None:
        """Replays the days without a class on which something may change."""
        for due in sorted(due for due in self.days_due if due < day):
            ladder = self.world.ladder_on(due).engine
            start_day(self.state, self.evidence, due, ladder)
            end_day(self.state, self.evidence, self._told_of_head(due), ladder)
        self.days_due = {due for due in self.days_due if due > day}

    def _is_present(self, day: datetime.date) -> bool:
        story = self.pupil.story
        if day >= story.away_from:
            return False
        recent = (self.world.now.date() - day).days < 60
        return (story != Story() and recent) or self.rng.random() >= ABSENT

    def _moment(self, evening: Evening, seconds: float) -> datetime.datetime:
        """So long after the class began, each child a little after the one before.

        Of a class that has yet to begin, in the minutes before now, but on its day.
        """
        at = evening.starts + datetime.timedelta(seconds=seconds + 5 * self.pupil.index)
        if at <= self.world.now:
            return at
        back = max(1.0, 900 - seconds / 4 - self.pupil.index)
        at = self.world.now - datetime.timedelta(seconds=back)
        first = evening.midnight + (self.world.now - evening.midnight) * seconds / 10_000
        return max(at, first)

    def _log(self, evening: Evening, by: str, at: datetime.datetime, **fields: object) -> uuid.UUID:
        id_ = uuid7(at, self.rng)
        line = {"id": str(id_), "at": at.isoformat(), "child": str(self.pupil.id), **fields}
        self.record.lines.append(Line(evening, by, line))
        return id_

    def _pain(self, evening: Evening) -> list[Event]:
        place = self.pupil.story.pains.get(evening.day)
        if place is None:
            return []
        at = self._moment(evening, 120)
        id_ = self._log(evening, evening.main, at, kind="hurt", place=place)
        return [Event("pain", evening.day, at, str(id_), place=place)]

    def _told_of_head(self, day: datetime.date) -> list[Event]:
        told = [each for each in self.pupil.story.head if each.day == day]
        return [Event(each.kind, day, each.at, f"head {each.at}", step=each.step) for each in told]

    # --- turns -----------------------------------------------------------------------

    def _turns_at(self, evening: Evening, choice: DrillChoice, station: int) -> None:
        drill = self.ladder.engine.drills[choice.drill]
        allowed: Allowed | None = None
        for number in range(choice.turns):
            # The second turn and one after a fault may be allowed another support.
            if allowed is None or number == 1 or self.today[-1].clean is False:
                allowed = self._allowed(drill, evening.surface)
            if allowed.support is None:
                return
            at = self._moment(evening, 240 + 450 * station + 85 * number)
            self._turn(evening, drill, allowed.support, choice.by, at, number)
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
        support, less = int(allowed) if drill.support_logged else 0, {}
        if self._gives_less(evening.day, number, support):
            support, less = support - 1, {"allowed": support, "less": "judged-right"}
        elif number and 0 < support < 3 and self.rng.random() < 0.03:
            support += 1
        outcome = self._outcome(drill, support, evening.day, number)
        fields: dict[str, Any] = {"drill": drill.key, "surface": evening.surface, **outcome, **less}
        if drill.support_logged:
            fields["support"] = support
        self.turns_before[drill.key] += 1
        id_ = self._log(evening, by, at, kind="turn", **fields)
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

    def _gives_less(self, day: datetime.date, number: int, support: int) -> bool:
        """Once in these weeks a coach gives less support than the record allows."""
        first = not any("less" in line.raw for line in self.record.lines)
        return day >= self.pupil.story.less_support_from and number == 1 and support >= 2 and first

    def _outcome(
        self, drill: Drill, support: int, day: datetime.date, number: int
    ) -> dict[str, Any]:
        learner, story = self.pupil.learner, self.pupil.story
        strong = drill.key in story.strong and day >= story.strong_from
        if drill.measure != "clean":
            value = learner.value(drill, day, self.rng)
            if strong:
                return {"value": max(value, 2.0) if drill.measure == "grade" else value}
            looked_at = self.rng.random() < LOOKED_AT
            faults = self._faults(drill, support, stop=False) if looked_at else []
            return {"value": value, "faults": faults} if faults else {"value": value}
        is_skill = drill.key in SKILLS
        if day == story.stop_on and is_skill and number == 1:
            return {"clean": False, "caught": True, "faults": ["half-hearted"]}
        likely = learner.clean_chance(drill.key, support, day, self.turns_before[drill.key])
        if strong:
            last_weeks = (self.world.now.date() - day).days <= 28
            likely = 1.0 if number == 0 or last_weeks else 0.95
        elif drill.key == story.weak and day >= story.weak_from:
            likely = 0.05
        if self.rng.random() < likely:
            return {"clean": True}
        often = STOP_SIGN_AT_SKILL if is_skill else STOP_SIGN
        stop = not strong and drill.key != story.weak and self.rng.random() < often
        if stop and support >= 2 and self.rng.random() < 0.4:
            return {"clean": False, "caught": True}
        faults = self._faults(drill, support, stop)
        return {"clean": False, "faults": faults} if faults else {"clean": False}

    def _faults(self, drill: Drill, support: int, stop: bool) -> list[str]:
        faults = [
            (fault["key"], weight(fault["root"], len(fault["belongs"]), self.pupil.index))
            for fault in self.ladder.content["fault"]
            if drill.key in fault["belongs"] and _is_stop_sign(fault["stop"], support) == stop
        ]
        return choose_faults(faults, stop, self.rng)

    def _tally(self, day: datetime.date) -> None:
        by_drill: dict[str, list[Turn]] = defaultdict(list)
        for turn in self.today:
            by_drill[turn.drill].append(turn)
        for drill, turns in by_drill.items():
            tallies = tally_turns(turns, self.ladder.engine.stops)
            self.record.turns[drill, day] = turns
            self.record.tallies[drill, day] = tallies
            self.evidence.add(tallies)
            self.evidence.add_faults(fault_counts(turns))
            if any(tally.stop_signs for tally in tallies):
                waits = [days for key, days in self.world.clear_waits if key == drill]
                self.days_due |= {day + datetime.timedelta(days=days) for days in waits}


def _is_stop_sign(stop: str, support: int) -> bool:
    """``stop`` of a fault in the ladder's file; "unheld": only without hands."""
    return stop == "yes" or (stop == "unheld" and support <= Support.STANDING_BY)
