"""What coaches and directors decide after a class, as far as the record allows it."""

import datetime
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any, Literal

from readiness.demo.calendar import Evening
from readiness.demo.ids import uuid4
from readiness.demo.pupils import Pupil
from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Stage, TapRule
from readiness.engine.reading import FOR_REVIEW, ChildReading, read_state, reading_surface
from readiness.engine.reading_json import as_json, stage_as_json
from readiness.engine.replay.events import Event, EventKind
from readiness.engine.replay.next_step import Tap, taps_due
from readiness.engine.replay.openings import missing_needs
from readiness.engine.replay.state import ChildState
from readiness.engine.tallies import Turn
from readiness.record.ladders import NamedLadder

DAYS_BEFORE_SIGNING = 4
DAYS_BEFORE_SENDING_BACK = 10

WAIT_REASONS = (
    "Not yet: I want to see the first turn of the day clean in two more classes.",
    "The last turns were hurried. Let us see it calm again, then ask me once more.",
)
CHANGED_REASON = "The record has changed since you asked. Settle it first, then ask again."
PLACED_REASON = "Seen on the first two evenings: clean with light hands, trained elsewhere before."
EXCEPTION_REASON = "Stiff in the back, strong in the arms and the sit: the handspring suits better."
PAUSE_REASON = "Feverish, went home early."
LIFT_REASON = "The family says all is well again; looked fresh today."

Kind = EventKind | Literal["recommend"]


@dataclass(frozen=True)
class DemoDecision:
    """One decision about a child. ``reading``: what it was made on, of the stage as decisions
    store it, or of the whole child. ``answers``: the recommendation that it answers."""

    kind: Kind
    id: uuid.UUID
    day: datetime.date
    at: datetime.datetime
    by: str
    ladder: int
    director: bool = False
    stage: str = ""
    drill: str = ""
    support: int | None = None
    surface: str = ""
    reason: str = ""
    reading: Mapping[str, Any] = field(default_factory=dict)
    answers: uuid.UUID | None = None


class DecisionMaker:
    """Decides about one child; remembers the recommendations nobody has answered, by stage."""

    def __init__(
        self, pupil: Pupil, directors: Sequence[str], staff: Mapping[str, int], rng: Random
    ) -> None:
        """staff: primary keys by username."""
        self.pupil, self.directors, self.staff, self.rng = pupil, directors, staff, rng
        self.recommended: dict[str, DemoDecision] = {}
        self._reading: ChildReading | None = None

    def after_class(
        self,
        evening: Evening,
        state: ChildState,
        evidence: Evidence,
        ladder: NamedLadder,
        turns: Sequence[Turn],
    ) -> list[DemoDecision]:
        """What is decided once the class has gone. ``state``: with the events of the day."""
        self.evening, self.state, self.evidence = evening, state, evidence
        self.ladder, self.turns, self._reading = ladder, turns, None
        story, director = self.pupil.story, self.directors[0]
        if evening.day == story.pause_on:
            return [self._decision("pause", evening.main, 2, reason=PAUSE_REASON)]
        if evening.day == story.lift_on:
            return [self._decision("lift", director, 30, reason=LIFT_REASON)]
        if state.paused_since is not None:
            return []
        decisions = [*self._steps(), *self._reviews()]
        code = story.exception
        if code and code not in state.exceptions and "5" in state.opened:
            decisions.append(
                self._decision("exception", director, 30, stage=code, reason=EXCEPTION_REASON)
            )
        if evening.day == story.place_on:
            about = {"stage": str(story.place_stage), "surface": evening.surface}
            decisions.append(self._decision("place", director, 30, reason=PLACED_REASON, **about))
        return decisions

    @property
    def reading(self) -> ChildReading:
        """The child as the page shows it now; read only on days with something to decide."""
        if self._reading is None:
            ladder = self.ladder.engine
            self._reading = read_state(self.state, self.evidence, self.turns, ladder)
        return self._reading

    def _decision(self, kind: Kind, by: str, minutes: int, **about: Any) -> DemoDecision:
        """minutes: after the class ended."""
        at = self.evening.ends + datetime.timedelta(minutes=minutes, seconds=20 * self.pupil.index)
        day, number = self.evening.day, self.ladder.number
        reading = as_json(self.reading, str(self.pupil.id), number)
        if kind not in ("place", "lift", "pause"):
            stage = stage_as_json(self.reading.stage(about["stage"]), self.reading)
            reading = {**{key: reading[key] for key in ("child", "day", "ladder")}, "stage": stage}
        director = by in self.directors
        return DemoDecision(
            kind, uuid4(self.rng), day, at, by, number, director, reading=reading, **about
        )

    # --- steps of less support -------------------------------------------------------

    def _steps(self) -> list[DemoDecision]:
        ladder, day = self.ladder.engine, self.evening.day
        if not taps_due(self.state, self.evidence, ladder, day, set()):
            return []
        taps = [tap for tap in self.reading.taps if not self._is_left(tap)]
        return [self._step(tap) for tap in taps if self.rng.random() < 0.8 and self._may_tap(tap)]

    def _may_tap(self, tap: Tap) -> bool:
        rule, coach = self.ladder.engine.tap, self.staff[self.evening.main]
        if tap.director or rule is None:
            return True
        return has_held(coach, tap, self.evidence, rule, self.evening.day)

    def _is_left(self, tap: Tap) -> bool:
        """The last step of a way back that nobody gives, for the sheet of September."""
        if not (self.pupil.story.last_step_waits and tap.again):
            return False
        goals = {back.drill: back.goal for back in self.reading.ways_back}
        return tap.support == goals.get(tap.drill)

    def _step(self, tap: Tap) -> DemoDecision:
        by = self.rng.choice(self.directors) if tap.director else self.evening.main
        about = {"stage": tap.stage, "drill": tap.drill, "support": int(tap.support)}
        return self._decision("step", by, 5, **about)

    # --- recommending and signing ----------------------------------------------------

    def _reviews(self) -> list[DemoDecision]:
        reviews = [
            self._review(stage)
            for stage in self.ladder.engine.stages
            if stage.sign_off and stage.code not in self.state.opened
        ]
        return [decision for decision in reviews if decision is not None]

    def _review(self, stage: Stage) -> DemoDecision | None:
        recommended, ready = self.recommended.get(stage.code), self._is_for_review(stage)
        if recommended is None:
            return self._recommend(stage) if ready and self._wants(stage) else None
        waited = (self.evening.day - recommended.day).days
        if stage.code == self.pupil.story.unsigned or waited < DAYS_BEFORE_SIGNING:
            return None
        if ready and self.rng.random() < 0.8:
            if self.rng.random() < 0.08:
                return self._send_back(recommended, self.rng.choice(WAIT_REASONS))
            return self._sign(recommended)
        if not ready and waited >= DAYS_BEFORE_SENDING_BACK:
            return self._send_back(recommended, CHANGED_REASON)
        return None

    def _is_for_review(self, stage: Stage) -> bool:
        """Asks the cheap questions first: most days the answer is no."""
        if missing_needs(self.state, stage):
            return False
        evidence, day, ladder = self.evidence, self.evening.day, self.ladder.engine
        surface = reading_surface(stage, None, evidence, day, ladder)
        gates = (gate.read_for_entry(evidence, day, ladder, surface) for gate in stage.gates)
        return all(gate.met for gate in gates) and (
            self.reading.stage(stage.code).state == FOR_REVIEW
        )

    def _wants(self, stage: Stage) -> bool:
        """Whether the coach recommends a stage that is for review."""
        story = self.pupil.story
        if stage.code == story.unsigned:
            return self.evening.day >= story.recommend_from
        return self.rng.random() < 0.7

    def _recommend(self, stage: Stage) -> DemoDecision:
        surface = self.reading.stage(stage.code).surface
        if not surface:
            # Its gates ask for no surface: that of the stage before it.
            before = (self.state.opened[code].surface for code in stage.needs)
            surface = next(key for key in before if key is not None)
        about = {"stage": stage.code, "surface": surface}
        decision = self._decision("recommend", self.evening.main, 10, **about)
        self.recommended[stage.code] = decision
        return decision

    def _sign(self, recommended: DemoDecision) -> DemoDecision:
        by = self.rng.choice([name for name in self.directors if name != recommended.by])
        return self._answer("sign", by, recommended, surface=recommended.surface)

    def _send_back(self, recommended: DemoDecision, reason: str) -> DemoDecision:
        return self._answer(
            "send-back", self.rng.choice(self.directors), recommended, reason=reason
        )

    def _answer(self, kind: Kind, by: str, recommended: DemoDecision, **about: str) -> DemoDecision:
        del self.recommended[recommended.stage]
        stage = recommended.stage
        return self._decision(kind, by, 40, stage=stage, answers=recommended.id, **about)


def has_held(author: int, tap: Tap, evidence: Evidence, rule: TapRule, day: datetime.date) -> bool:
    """As record/two_people/taps.py asks of a coach who gives a step, from the evidence alone."""
    days = evidence.days(tap.drill, day, day - datetime.timedelta(days=rule.held_within))
    tallies = [tally for each in days for tally in evidence.on(tap.drill, each)]
    return any(each.author == author and each.support > tap.support for each in tallies)


def as_event(decision: DemoDecision) -> Event | None:
    """The engine's event; None for a recommendation, which changes nothing by itself."""
    if decision.kind == "recommend":
        return None
    return Event(
        decision.kind,
        decision.day,
        decision.at,
        str(decision.id),
        stage=decision.stage,
        drill=decision.drill,
        surface=decision.surface,
        support=3 if decision.support is None else decision.support,
        director=decision.director,
    )
