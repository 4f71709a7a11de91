"""What other values for a gate would do to children.

A changed ladder counts from a day on, and everything before is read as it was. So a child's
record is replayed up to that day under the ladder in force, once, and the day itself is then lived
twice: under that ladder and under the changed one, with no turn taken. What differs on the
morning after is what the change alone does.
"""

import copy
import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.reading import FOR_REVIEW, PAUSED, StageReading, read_stage
from readiness.engine.replay.days import LadderOn, end_day, replay, start_day
from readiness.engine.replay.events import Event
from readiness.engine.replay.next_step import taps_due
from readiness.engine.replay.state import ChildState
from readiness.engine.support import has_fallen, watched_days, watches
from readiness.gates.ladder_gates import PRACTICE, Content, PlacedGate
from readiness.models import DayTally
from readiness.record.evidence_loader import load as load_records
from readiness.record.ladders import Ladders
from studio.models import Child
from studio.people.records import root_of

ONE_DAY = datetime.timedelta(days=1)


FALLS = "falls"


OPENS, STAYS_CLOSED = "opens", "stays-closed"


TO_REVIEW, NOT_TO_REVIEW = "to-review", "not-to-review"


DRILL_OPENS, DRILL_STAYS_CLOSED = "drill-opens", "drill-stays-closed"


STEP_EARNED, STEP_NOT_EARNED = "step-earned", "step-not-earned"


NO_LONGER_MET = "no-longer-met"


SCORE = "score"


@dataclass(frozen=True)
class Change:
    """One thing that differs for a child.

    kind: one of the codes above. falls: lately is under the changed rule's line, so that the
    stage goes to re-check with its next turns. no-longer-met: the stage is open and stays open,
    but its gates are met under the present ladder only. step: less support at a drill, given or
    waiting for a tap. score: of a closed stage, ``before`` and ``after``.
    """

    kind: str
    stage: str = ""
    drill: str = ""
    support: Support | None = None
    before: int = 0
    after: int = 0


@dataclass(frozen=True)
class ChildChanges:
    child: Child
    changes: tuple[Change, ...]


def effects_on_children(
    content: Content, gate: PlacedGate, ladders: Ladders, day: datetime.date
) -> list[ChildChanges]:
    """Every child for whom the changed ladder, in force from ``day``, changes something.

    Only children with a turn that counts for the gate can be among them: without one the gate
    reads the same whatever its values.
    """
    trial = Ladder.from_content(content, ladders.newest.engine.split_on)
    turned = DayTally.objects.filter(drill__key__in=_drills_read(content, gate, trial))
    roots = turned.values(root=root_of("child"))
    children = Child.objects.filter(pk__in=roots).exclude(left_on__lte=day)
    ordered = list(children.order_by("search_key", "pk"))
    records = load_records((child.pk for child in ordered), ladders)
    every = []
    for child in ordered:
        record = records[child.pk]
        evidence = Evidence(record.tallies, faults=record.faults)
        changes = changes_of(evidence, record.events, day, ladders.on, trial)
        if changes:
            every.append(ChildChanges(child, tuple(changes)))
    return every


def _drills_read(content: Content, gate: PlacedGate, trial: Ladder) -> list[str]:
    """The drills as which the turns are logged that a gate, or the practice rule, is about."""
    if gate.code != PRACTICE:
        drills = [gate.drill, *([gate.row["or_drill"]] if "or_drill" in gate.row else [])]
        return [logged.drill for drill in drills for logged in trial.logged_as(drill)]
    return [
        drill["key"]
        for drill in content["drill"]
        if any("steady" in step for step in drill.get("allow", []))
    ]


def changes_of(
    evidence: Evidence,
    events: Sequence[Event],
    day: datetime.date,
    ladder_on: LadderOn,
    trial: Ladder,
) -> list[Change]:
    """What differs for one child on the morning after ``day``, the first day of ``trial``."""
    start = replay(evidence, events, day, ladder_on)
    before = _Morning.after(start, evidence, ladder_on(day))
    after = _Morning.after(start, evidence, trial)
    return [
        *_falls(before, after),
        *_stages(before, after),
        *_drills(before, after),
        *_steps(before, after),
    ]


@dataclass(frozen=True)
class _Morning:
    """A child under one ladder on the morning after its first day."""

    ladder: Ladder
    state: ChildState
    evidence: Evidence
    stages: Mapping[str, StageReading]

    @classmethod
    def after(cls, start: ChildState, evidence: Evidence, ladder: Ladder) -> "_Morning":
        state = copy.deepcopy(start)
        end_day(state, evidence, [], ladder)
        start_day(state, evidence, start.day + ONE_DAY, ladder)
        stages = {
            stage.code: read_stage(stage, state, evidence, state.day, ladder)
            for stage in ladder.stages
        }
        return cls(ladder, state, evidence, stages)

    @property
    def drills_open(self) -> set[str]:
        """The drills with needs of their own that are open."""
        return {
            key
            for key, drill in self.state.drills.items()
            if drill.open_since is not None and key in self.ladder.drills
            if self.ladder.drills[key].needs
        }

    @property
    def steps(self) -> set[tuple[str, Support]]:
        """The steps of less support that the record has given, or that wait for a tap."""
        given = {
            (drill.key, step.support)
            for drill in self.ladder.drills.values()
            for step in drill.allow
            if step.waits and drill.key in self.state.drills
            if step.code in self.state.drills[drill.key].steps
        }
        due = taps_due(self.state, self.evidence, self.ladder, self.state.day, set())
        return given | {(tap.drill, tap.support) for tap in due}

    @property
    def fallen(self) -> set[tuple[str, str]]:
        """Drill and stage of each watched rule that lately would already be under."""
        return {
            (watch.drill, watch.stage)
            for key in self.state.drills
            if key in self.ladder.drills
            for watch in watches(self.ladder.drills[key], self.state, self.ladder)
            if has_fallen(
                watched_days(watch, self.state, self.evidence, self.ladder, self.state.day),
                self.state.day,
                watch.rate,
                self.ladder,
            )
        }


def _falls(before: _Morning, after: _Morning) -> Iterator[Change]:
    for drill, stage in sorted(after.fallen - before.fallen):
        yield Change(FALLS, stage=stage, drill=drill)


def _stages(before: _Morning, after: _Morning) -> Iterator[Change]:
    for code, now in after.stages.items():
        was = before.stages[code]
        kind = _stage_kind(was, now)
        if kind:
            yield Change(kind, stage=code, before=was.score or 0, after=now.score or 0)


def _stage_kind(was: StageReading, now: StageReading) -> str:
    """What became of one stage; empty if nothing."""
    if bool(was.opening) != bool(now.opening):
        return OPENS if now.opening else STAYS_CLOSED
    if now.opening:
        return NO_LONGER_MET if _met(was) and not _met(now) else ""
    if _waits(was) != _waits(now):
        return TO_REVIEW if _waits(now) else NOT_TO_REVIEW
    has_scores = None not in (was.score, now.score)
    return SCORE if has_scores and was.score != now.score else ""


def _met(read: StageReading) -> bool:
    return all(gate.met for gate in read.gates)


def _waits(read: StageReading) -> bool:
    """For review, also while the child is paused."""
    return read.state in (FOR_REVIEW, PAUSED)


def _drills(before: _Morning, after: _Morning) -> Iterator[Change]:
    for drill in sorted(after.drills_open - before.drills_open):
        yield Change(DRILL_OPENS, drill=drill)
    for drill in sorted(before.drills_open - after.drills_open):
        yield Change(DRILL_STAYS_CLOSED, drill=drill)


def _steps(before: _Morning, after: _Morning) -> Iterator[Change]:
    for drill, support in sorted(after.steps - before.steps):
        yield Change(STEP_EARNED, drill=drill, support=support)
    for drill, support in sorted(before.steps - after.steps):
        yield Change(STEP_NOT_EARNED, drill=drill, support=support)
