"""What has changed on the record of a stage since it was recommended."""

import datetime
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from progression.models import Attempt, Strike
from readiness.engine.gates import Gate
from readiness.engine.tallies import stop_sign_ids
from readiness.models import Decision
from readiness.record.day_tallies import stored_turns
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.standings import Reading


@dataclass(frozen=True)
class DrillChange:
    """Turns at one drill that have come in since, whenever they were done. struck: turns of
    before that have been taken back since."""

    turns: int = 0
    clean: int = 0
    not_clean: int = 0
    stop_signs: int = 0
    struck: int = 0


def drill_changes(reading: Reading, recommended: Decision) -> dict[str, DrillChange]:
    """For each drill of the stage's gates with a change."""
    stage = reading.read.stage(recommended.stage)
    drills = dict.fromkeys(drill for gate in stage.gates for drill in gate.gate.drills)
    found = {drill: _drill_change(reading, drill, recommended.at) for drill in drills}
    return {drill: change for drill, change in found.items() if change != DrillChange()}


def _drill_change(reading: Reading, drill: str, since: datetime.datetime) -> DrillChange:
    of_drill = Attempt.objects.filter(child__in=reading.record.keys, drill__key=drill)
    came = of_drill.filter(received_at__gt=since).unstruck().values_list("id", "day", "clean")
    before = of_drill.filter(received_at__lte=since).values("id")
    days = {turn: day for turn, day, _clean in came}
    return DrillChange(
        turns=len(came),
        clean=sum(clean is True for _turn, _day, clean in came),
        not_clean=sum(clean is False for _turn, _day, clean in came),
        stop_signs=_stop_signs(reading, drill, days),
        struck=Strike.objects.filter(received_at__gt=since, attempt_id__in=before).count(),
    )


def _stop_signs(reading: Reading, drill: str, came: Mapping[uuid.UUID, datetime.date]) -> int:
    """How many of these turns are stop signs, among all turns of their days."""
    ladders, child = Ladders(), reading.child.pk
    days = stored_turns((child, drill, day) for day in set(came.values()))
    return sum(
        uuid.UUID(turn) in came
        for (_child, _drill, day), turns in days.items()
        for turn in stop_sign_ids(turns, ladders.on(day).stops)
    )


@dataclass(frozen=True)
class GateChange:
    """A gate of the stage that asks something else than then, is new, or is gone; or that was met
    then and is not now (lost).

    ladder: the version that it is named by. need: what it asks, in its own unit. before, now: as
    in the ladder's file, None if it is not there.
    """

    gate: Gate
    ladder: NamedLadder
    need: float
    before: Mapping[str, Any] | None
    now: Mapping[str, Any] | None
    lost: bool = False


def gate_changes(reading: Reading, recommended: Decision) -> list[GateChange]:
    """In the ladder's order, those that are gone last."""
    code, now = recommended.stage, reading.ladder
    then = Ladders().numbered(str(recommended.ladder.number)) or now
    was = {gate["code"]: gate for gate in recommended.reading["stage"]["gates"]}
    here = [
        GateChange(
            gate=gate.gate,
            ladder=now,
            need=gate.need,
            before=then.gates.get(gate.gate.code) if gate.gate.code in was else None,
            now=now.gates[gate.gate.code],
            lost=gate.gate.code in was and was[gate.gate.code]["met"] and not gate.met,
        )
        for gate in reading.read.stage(code).gates
    ]
    gone = [
        GateChange(gate, then, was[gate.code]["need"], then.gates[gate.code], None)
        for gate in then.engine.stage[code].gates
        if gate.code not in {each.gate.code for each in here}
    ]
    return [each for each in [*here, *gone] if each.lost or each.before != each.now]
