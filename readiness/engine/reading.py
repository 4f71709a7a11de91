"""One child on one day: every stage with its gates, and the support at every drill."""

import datetime
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from readiness.engine.evidence import Evidence
from readiness.engine.gates import GateReading
from readiness.engine.growing import apply_growing, graded_anew
from readiness.engine.ladder import Ladder, Stage
from readiness.engine.replay.consents import with_todays_hands
from readiness.engine.replay.days import LadderOn, replay
from readiness.engine.replay.decisions import (
    pain_pauses,
    send_back,
    with_todays_head,
    without_gone,
)
from readiness.engine.replay.events import Event, in_order
from readiness.engine.replay.next_step import Tap, WayBackNow, taps_due, ways_back
from readiness.engine.replay.openings import missing_needs
from readiness.engine.replay.state import Cause, ChildState, Opening
from readiness.engine.support import Allowed, allowed_now, out_of_reach
from readiness.engine.tallies import Turn

CLOSED, FOR_REVIEW, OPEN, RE_CHECK, PAUSED = (
    "closed",
    "for-review",
    "open",
    "re-check",
    "paused",
)


@dataclass(frozen=True)
class StageReading:
    """A stage on a day.

    causes: why it is on re-check. surface: the one the gates were read for, where they ask
    for one. waits_for: stages that must be open first. opens_tomorrow: all is met today, and
    what allows less counts from the next day. score: 0 to 100, 100 only when all gates are met;
    None while a stage that it needs is not open: the way there comes first.
    """

    stage: Stage
    state: str
    causes: tuple[Cause, ...]
    gates: tuple[GateReading, ...]
    surface: str | None
    opening: Opening | None
    waits_for: tuple[str, ...]
    opens_tomorrow: bool
    sent_back: bool

    @property
    def score(self) -> int | None:
        return None if self.waits_for else score(self.gates)

    @property
    def holding(self) -> GateReading | None:
        """The gate with the least progress, ties by the ladder's order; None if all are met."""
        unmet = [gate for gate in self.gates if not gate.met]
        return min(unmet, key=lambda gate: gate.progress, default=None)

    @property
    def lacks_only_turns(self) -> bool:
        """Closed, in reach, and nothing holds it but too few turns."""
        unmet = [gate for gate in self.gates if not gate.met]
        in_reach = self.state == CLOSED and not self.waits_for and bool(unmet)
        return in_reach and all(gate.gate.lacks_only_turns(gate) for gate in unmet)


@dataclass(frozen=True)
class SupportReading:
    drill: str
    surface: str
    allowed: Allowed


@dataclass(frozen=True)
class StoredReading:
    """What lists show of a child on ``day``: it can be stored and read back.

    stages: in the ladder's order, a stage's own skills right after it.
    """

    day: datetime.date
    stages: tuple[StageReading, ...]
    ways_back: tuple[WayBackNow, ...]
    paused_since: datetime.date | None
    # The step of a way back after a head knock; None: there is none under way.
    head_step: int | None

    @property
    def is_held(self) -> bool:
        """Paused, or on the way back after a head knock."""
        return self.paused_since is not None or self.head_step is not None

    def stage(self, code: str) -> StageReading:
        return next(reading for reading in self.stages if reading.stage.code == code)

    def skills_of(self, code: str) -> list[StageReading]:
        """The skills of a stage that are signed one by one."""
        return [reading for reading in self.stages if reading.stage.part_of == code]


@dataclass(frozen=True)
class ChildReading(StoredReading):
    """Everything that is shown of a child on ``day``; the sentences are made from it."""

    state: ChildState
    support: tuple[SupportReading, ...]
    taps: tuple[Tap, ...]

    def allowed(self, drill: str, surface: str) -> Allowed:
        return next(
            read.allowed for read in self.support if read.drill == drill and read.surface == surface
        )


def stage_to_show(reading: StoredReading) -> StageReading:
    """The stage that matters most now: on re-check, for review, or next in reach; a rung before
    a release, which is beside the way up."""
    for state in (RE_CHECK, FOR_REVIEW):
        in_state = [stage for stage in reading.stages if stage.state == state]
        if in_state:
            return in_state[-1]
    closed = [stage for stage in reading.stages if stage.opening is None]
    if not closed:
        return reading.stages[-1]
    ready = [stage for stage in closed if not stage.waits_for]
    rungs = [stage for stage in ready if stage.stage.part_of is None]
    return max(rungs or ready or closed[:1], key=lambda stage: score(stage.gates))


def score(gates: Sequence[GateReading]) -> int:
    """100 times the mean progress, rounded down; 100 with no gates."""
    if not gates:
        return 100
    mean = sum(gate.progress for gate in gates) / len(gates)
    # The twelfth decimal is the noise of adding; without this 0.7 + 0.7 + 0.7 reads 69.
    return math.floor(round(100 * mean, 9))


def read_child(
    evidence: Evidence,
    events: Iterable[Event],
    turns_today: Sequence[Turn],
    day: datetime.date,
    ladder_on: LadderOn,
    start: ChildState | None = None,
) -> ChildReading:
    """Read a child during ``day``, with the day's unstruck turns so far; ``start`` as in replay."""
    ordered = in_order(list(events))
    ladder = ladder_on(day)
    state = replay(evidence, ordered, day, ladder_on, start)
    state = with_todays_events(state, [event for event in ordered if event.day == day], ladder)
    return read_state(state, evidence, turns_today, ladder)


def read_state(
    state: ChildState, evidence: Evidence, turns_today: Sequence[Turn], ladder: Ladder
) -> ChildReading:
    """Read a child whose state during its day is known."""
    day, evidence = state.day, graded_anew(evidence, state, ladder)
    support = tuple(_support(state, evidence, turns_today, ladder))
    falls = [cause for read in support for cause in read.allowed.falls]
    stages = tuple(
        read_stage(stage, state, evidence, day, ladder, falls) for stage in ladder.stages
    )
    fallen = {read.drill for read in support if read.allowed.falls}
    return ChildReading(
        day,
        stages,
        ways_back(state, evidence, ladder, day),
        state.paused_since,
        state.head_step,
        state,
        support,
        taps=taps_due(state, evidence, ladder, day, fallen),
    )


def with_todays_events(state: ChildState, today: list[Event], ladder: Ladder) -> ChildState:
    """The state with the day's own events so far: what asks for more support counts at once,
    what allows less from the next day. That a sore place is gone counts at once: somebody has
    asked and the child has answered. So does all that is said of hands."""
    now = replace(state, opened=dict(state.opened), sent_back=dict(state.sent_back))
    for event in today:
        if event.kind == "pause" or (
            event.kind == "pain" and pain_pauses(now.pains, event, ladder)
        ):
            now.paused_since = now.paused_since or event.day
        if event.kind == "pain":
            now.pains = [*now.pains, (event.day, event.place)]
        if event.kind == "pain-gone":
            now.sore = without_gone(now.sore, event)
        if event.kind == "growing":
            apply_growing(now, event, ladder)
        if event.kind == "send-back":
            send_back(now, event, ladder)
    with_todays_head(now, today, ladder)
    return with_todays_hands(now, today, ladder)


def _support(
    state: ChildState, evidence: Evidence, turns_today: Sequence[Turn], ladder: Ladder
) -> Iterable[SupportReading]:
    for drill in ladder.drills.values():
        if not drill.support_logged:
            continue
        # Before the first turn of a day most drills are closed, on every surface alike.
        barred_by = None if turns_today else out_of_reach(drill, state, ladder)
        nothing = Allowed(None, (barred_by,)) if barred_by else None
        for surface in ladder.surfaces:
            yield SupportReading(
                drill.key,
                surface,
                nothing or allowed_now(drill, state, evidence, ladder, surface, turns_today),
            )


def read_stage(
    stage: Stage,
    state: ChildState,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    falls: Sequence[Cause] = (),
) -> StageReading:
    """A stage at the end of ``day``; ``falls`` are those of the day itself."""
    opening = state.opened.get(stage.code)
    surface = reading_surface(stage, opening, evidence, day, ladder)
    gates = tuple(gate.read(evidence, day, ladder, surface) for gate in stage.gates)
    causes = _causes(stage, state, falls)
    waits_for = missing_needs(state, stage, {code for cause in falls for code in cause.stages})
    all_met = all(gate.met for gate in gates) and not waits_for
    waiting = opening is None and all_met
    sent_back = opening is None and _still_sent_back(stage, state, evidence, day)
    return StageReading(
        stage=stage,
        state=_state(stage, state, causes, waiting and not sent_back),
        causes=causes if opening else (),
        gates=gates,
        surface=surface,
        opening=opening,
        waits_for=waits_for if opening is None else (),
        opens_tomorrow=waiting and not stage.sign_off,
        sent_back=sent_back,
    )


def _causes(stage: Stage, state: ChildState, falls: Sequence[Cause]) -> tuple[Cause, ...]:
    """Each cause once, by what it is and its day, the oldest first: surfaces differ only in what
    it asks, and drills come in another order from a checkpoint."""
    today = [cause for cause in falls if stage.code in cause.stages]
    causes: dict[tuple[str, datetime.date], Cause] = {}
    for cause in [*state.rechecks(stage.code), *today]:
        known = causes.get((cause.code, cause.day))
        if known is None or known.asks < cause.asks:
            causes[cause.code, cause.day] = cause
    return tuple(causes[key] for key in sorted(causes, key=lambda key: (key[1], key[0])))


def _state(stage: Stage, state: ChildState, causes: Sequence[Cause], waiting: bool) -> str:
    if stage.code in state.opened:
        if state.is_held:
            return PAUSED
        return RE_CHECK if causes else OPEN
    if waiting and stage.sign_off:
        return PAUSED if state.is_held else FOR_REVIEW
    return CLOSED


def _still_sent_back(
    stage: Stage, state: ChildState, evidence: Evidence, day: datetime.date
) -> bool:
    """Sent back, and no class day with turns at its drills since."""
    since = state.sent_back.get(stage.code)
    if since is None:
        return False
    drills = {drill for gate in stage.gates for drill in gate.drills}
    lasts = (evidence.last_day(drill, day) for drill in drills)
    return not any(last is not None and last > since for last in lasts)


def reading_surface(
    stage: Stage,
    opening: Opening | None,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
) -> str | None:
    """The surface for which a signed stage's gates are read.

    The signed one, once signed; before, the hardest on which all gates are met, else the one
    with the best score, the harder of equals. None for a stage that asks for no surface.
    """
    asking = [gate for gate in stage.gates if gate.asks_surface]
    if opening is not None and opening.surface is not None and stage.sign_off:
        return opening.surface
    if not asking:
        return None
    used = evidence.surfaces(asking[0].drill, day) or {ladder.surfaces[0]}
    ranked = sorted(used, key=ladder.rank)
    if len(ranked) == 1:
        return ranked[0]

    def worth(surface: str) -> tuple[bool, float, int]:
        read = [gate.read_for_entry(evidence, day, ladder, surface) for gate in asking]
        total = sum(gate.progress for gate in read)
        return all(gate.met for gate in read), round(total, 9), ladder.rank(surface)

    return max(ranked, key=worth)
