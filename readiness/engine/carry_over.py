"""What a fault at one drill asks for at others on the same day: doubt at the other skills, and
nothing backward or upside down after some."""

from collections.abc import Sequence

from readiness.engine.first_turn import has_begun
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.replay.state import ChildState
from readiness.engine.tallies import FaultCounts, Turn, fault_counts


def doubted_skills(faults: FaultCounts, ladder: Ladder) -> frozenset[str]:
    """The skills at which a fault that carries was seen often enough; ``faults``: one day's."""
    return frozenset(
        drill
        for (drill, _, fault), times in faults.items()
        if drill in ladder.drills
        and ladder.drills[drill].skill
        and times >= ladder.carrying.get(fault, times + 1)
    )


def has_doubt(drill: Drill, state: ChildState, ladder: Ladder, today: Sequence[Turn]) -> bool:
    """True if doubt at another skill asks for one step more at this one: since it was seen
    today, or on the child's last class day and this is the day's first turn here."""
    if not drill.skill:
        return False
    if doubted_skills(fault_counts(today), ladder) - {drill.key}:
        return True
    first = not has_begun(drill.key, today, ladder)
    return first and state.doubt is not None and bool(state.doubt.skills - {drill.key})


def ends_tonight(drill: Drill, ladder: Ladder, today: Sequence[Turn]) -> bool:
    """True if a fault seen today at any drill leaves out what goes backward or upside down."""
    seen = {fault for turn in today for fault in turn.faults}
    return bool(drill.goes) and any(
        fault in ladder.faults and ladder.faults[fault].ends_backward for fault in seen
    )
