"""head.json: at each step after a head knock, the drills that are too soon, and those that are not.

As the engine answers for a child who has every stage and drill open. Which drill at which step is
common practice, no source; the days are in tests/engine/test_head_steps.py.
"""

from typing import Any

from readiness.engine import day_start
from readiness.engine.head_steps import LAST_STEP, HeadWay
from readiness.engine.replay.state import ChildState, DrillState, Opening
from readiness.engine.support import allowed_at_start
from tests.support.engine.records import LADDER, MAT, day


def cases() -> dict[str, Any]:
    return {
        "after_head": day_start.rules(LADDER)["after_head"],
        "steps": [_case(step) for step in (None, *range(LAST_STEP + 1))],
    }


def _case(step: int | None) -> dict[str, Any]:
    way = None if step is None else HeadWay(day(0), day(0), step=step)
    state = ChildState(day(30), consent="yes", head=way)
    for stage in LADDER.stages:
        state.opened[stage.code] = Opening(day(0), "signature", MAT)
    for key in LADDER.drills:
        state.drills[key] = DrillState(open_since=day(0))
    too_soon = [
        drill.key
        for drill in LADDER.drills.values()
        if allowed_at_start(drill, state, LADDER, MAT).causes == ("after-head",)
    ]
    return {"step": state.head_step, "too_soon": too_soon}
