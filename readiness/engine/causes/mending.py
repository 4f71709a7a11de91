"""The drills that mend a cause, for one child."""

import datetime
from collections.abc import Sequence

from readiness.engine.causes.roots import Root
from readiness.engine.clean_rate import read_clean
from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.replay.state import ChildState
from readiness.engine.support import allowed_now
from readiness.engine.tallies import Turn

OFFERED = 3
# "Lately": so many days, the reading's own with them.
LATELY_DAYS = 28


def mending_drills(
    root: Root,
    drill: str,
    state: ChildState,
    evidence: Evidence,
    ladder: Ladder,
    today: Sequence[Turn] = (),
) -> list[str]:
    """Three at most: open to the child, not steady already, the least done lately first.

    Those of the root's faults as they were seen at ``drill``, which is none of them. ``today``:
    the day's unstruck turns, after which something may be over for the evening.
    """
    day = state.day
    listed = dict.fromkeys(mend for fault, _ in root.faults for mend in ladder.faults[fault].mend)
    open_now = [
        key
        for key in listed
        if key != drill
        and _is_for_now(ladder.drills[key], state, evidence, ladder, today)
        and not is_steady(ladder.drills[key], evidence, day, ladder)
    ]
    first = day - datetime.timedelta(days=LATELY_DAYS - 1)
    return sorted(open_now, key=lambda key: len(evidence.days(key, day, first)))[:OFFERED]


def _is_for_now(
    drill: Drill, state: ChildState, evidence: Evidence, ladder: Ladder, today: Sequence[Turn]
) -> bool:
    easiest = ladder.surfaces[0]
    return allowed_now(drill, state, evidence, ladder, easiest, today).support is not None


def is_steady(drill: Drill, evidence: Evidence, day: datetime.date, ladder: Ladder) -> bool:
    """Clean often enough, by the rule for practice; of a hold, a count or a grade: every gate that
    asks for it is met."""
    if drill.measure == "clean":
        days = evidence.clean_days(drill.key, ladder, day)
        return read_clean(days, day, ladder.practice, ladder.decay).met
    gates = [gate for stage in ladder.stages for gate in stage.gates if drill.key in gate.drills]
    surface = ladder.surfaces[0]
    return bool(gates) and all(gate.read(evidence, day, ladder, surface).met for gate in gates)
