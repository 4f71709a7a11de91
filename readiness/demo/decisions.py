"""What coaches and directors decide after a class, as long as the record gives it."""

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
from readiness.engine.ladder import Stage
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
class Deed:
    """One thing that was decided about a child. ``seen``: the reading it was decided on, of the
    stage as decisions keep it, or of the whole child. ``answers``: the recommendation that it
    answers."""

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
    seen: Mapping[str, Any] = field(default_factory=dict)
    answers: uuid.UUID | None = None


class Desk:
    """One child's file on the desk: who asked for what, and what waits."""

    def __init__(self, pupil: Pupil, directors: Sequence[str], chance: Random) -> None:
        self.pupil, self.directors, self.chance = pupil, directors, chance
        self.asked: dict[str, Deed] = {}
        self._reading: ChildReading | None = None

    def after_class(
        self,
        evening: Evening,
        state: ChildState,
        evidence: Evidence,
        ladder: NamedLadder,
        turns: Sequence[Turn],
    ) -> list[Deed]:
        """What is decided once the class has gone. ``state`` is that of the day so far."""
        self.evening, self.state, self.evidence = evening, state, evidence
        self.ladder, self.turns, self._reading = ladder, turns, None
        if evening.day in (self.pupil.story.pause_on, self.pupil.story.lift_on):
            return [self._halt()]
        if state.paused_since is not None:
            return []
        return [*self._taps(), *self._reviews(), *self._exception(), *self._placed()]

    @property
    def reading(self) -> ChildReading:
        """The child as the page shows it now; worked out only on days with something to decide."""
        if self._reading is None:
            ladder = self.ladder.engine
            self._reading = read_state(self.state, self.evidence, self.turns, ladder)
        return self._reading

    def _deed(self, kind: Kind, by: str, minutes: int, **about: Any) -> Deed:
        at = self.evening.ends + datetime.timedelta(minutes=minutes, seconds=20 * self.pupil.at)
        day, number = self.evening.day, self.ladder.number
        whole = as_json(self.reading, str(self.pupil.id), number)
        if kind not in ("place", "lift", "pause"):
            found = stage_as_json(self.reading.stage(about["stage"]), self.reading)
            whole = {**{key: whole[key] for key in ("child", "day", "ladder")}, "stage": found}
        director = by in self.directors
        return Deed(kind, uuid4(self.chance), day, at, by, number, director, seen=whole, **about)

    # --- steps of less support -------------------------------------------------------

    def _taps(self) -> list[Deed]:
        ladder, day = self.ladder.engine, self.evening.day
        if not taps_due(self.state, self.evidence, ladder, day, set()):
            return []
        return [self._tap(tap) for tap in self.reading.taps if self.chance.random() < 0.8]

    def _tap(self, tap: Tap) -> Deed:
        by = self.chance.choice(self.directors) if tap.director else self.evening.main
        return self._deed("step", by, 5, stage=tap.stage, drill=tap.drill, support=int(tap.support))

    # --- recommending and signing ----------------------------------------------------

    def _reviews(self) -> list[Deed]:
        found = [
            self._review(stage)
            for stage in self.ladder.engine.stages
            if stage.sign_off and stage.code not in self.state.opened
        ]
        return [deed for deed in found if deed is not None]

    def _review(self, stage: Stage) -> Deed | None:
        asked, ready = self.asked.get(stage.code), self._is_for_review(stage)
        if asked is None:
            return self._recommend(stage) if ready and self._asks(stage) else None
        waited = (self.evening.day - asked.day).days
        if stage.code in self.pupil.story.unsigned or waited < DAYS_BEFORE_SIGNING:
            return None
        if ready and self.chance.random() < 0.8:
            if self.chance.random() < 0.08:
                return self._send_back(asked, self.chance.choice(WAIT_REASONS))
            return self._sign(asked)
        if not ready and waited >= DAYS_BEFORE_SENDING_BACK:
            return self._send_back(asked, CHANGED_REASON)
        return None

    def _is_for_review(self, stage: Stage) -> bool:
        """The quick questions first: most days the answer is no."""
        if missing_needs(self.state, stage):
            return False
        evidence, day, ladder = self.evidence, self.evening.day, self.ladder.engine
        surface = reading_surface(stage, None, evidence, day, ladder)
        gates = (gate.read_for_entry(evidence, day, ladder, surface) for gate in stage.gates)
        return all(gate.met for gate in gates) and (
            self.reading.stage(stage.code).state == FOR_REVIEW
        )

    def _asks(self, stage: Stage) -> bool:
        story = self.pupil.story
        if stage.code in story.unsigned:
            return self.evening.day >= story.ask_from
        return self.chance.random() < 0.7

    def _recommend(self, stage: Stage) -> Deed:
        surface = self.reading.stage(stage.code).surface or self._signed_below(stage)
        deed = self._deed("recommend", self.evening.main, 10, stage=stage.code, surface=surface)
        self.asked[stage.code] = deed
        return deed

    def _signed_below(self, stage: Stage) -> str:
        """A stage whose gates ask for no surface takes the one before it was signed for."""
        return next(s for n in stage.needs if (s := self.state.opened[n].surface) is not None)

    def _sign(self, asked: Deed) -> Deed:
        by = self.chance.choice([d for d in self.directors if d != asked.by])
        del self.asked[asked.stage]
        return self._deed(
            "sign", by, 40, stage=asked.stage, surface=asked.surface, answers=asked.id
        )

    def _send_back(self, asked: Deed, reason: str) -> Deed:
        del self.asked[asked.stage]
        by = self.chance.choice(self.directors)
        return self._deed("send-back", by, 40, stage=asked.stage, reason=reason, answers=asked.id)

    # --- what the story lays down ----------------------------------------------------

    def _exception(self) -> list[Deed]:
        story, code = self.pupil.story, self.pupil.story.exception
        if not code or code in self.state.exceptions or "5" not in self.state.opened:
            return []
        return [self._deed("exception", self.directors[0], 30, stage=story.exception,
                           reason=EXCEPTION_REASON)]  # fmt: skip

    def _halt(self) -> Deed:
        if self.evening.day == self.pupil.story.pause_on:
            return self._deed("pause", self.evening.main, 2, reason=PAUSE_REASON)
        return self._deed("lift", self.directors[0], 30, reason=LIFT_REASON)

    def _placed(self) -> list[Deed]:
        story = self.pupil.story
        if self.evening.day != story.place_on:
            return []
        return [self._deed("place", self.directors[0], 30, stage=str(story.place_at),
                           surface=self.evening.surface, reason=PLACED_REASON)]  # fmt: skip


def event_of(deed: Deed) -> Event | None:
    """The engine's event; a recommendation is none, it changes nothing until answered."""
    if deed.kind == "recommend":
        return None
    return Event(
        deed.kind,
        deed.day,
        deed.at,
        str(deed.id),
        stage=deed.stage,
        drill=deed.drill,
        surface=deed.surface,
        support=3 if deed.support is None else deed.support,
        director=deed.director,
    )
