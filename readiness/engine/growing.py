"""A child who grows fast: for some weeks a step more on first turns, and one drill graded anew.

It is told, by a coach or by the word of the family; no height is asked for or kept.
"""

import datetime

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.replay.events import Event
from readiness.engine.replay.state import ChildState


def is_growing(state: ChildState, ladder: Ladder) -> bool:
    """On the state's day; never by a ladder that has no such rule."""
    if ladder.growing is None or state.growing_since is None:
        return False
    return state.day < state.growing_since + ladder.growing.time


def apply_growing(state: ChildState, event: Event, ladder: Ladder) -> None:
    """Told again while it lasts, it goes on as it was."""
    if event.kind == "growing" and not is_growing(state, ladder):
        state.growing_since = event.day
    elif event.kind == "growing-over":
        state.growing_since = None


def graded_anew(evidence: Evidence, state: ChildState, ladder: Ladder) -> Evidence:
    """The evidence as gates read it: of the drill that is graded anew, only the days since."""
    if ladder.growing is None or state.growing_since is None or not is_growing(state, ladder):
        return evidence
    return evidence.counting_anew(ladder.growing.drill, state.growing_since)


def end_of(event: Event, ladder: Ladder) -> datetime.date | None:
    """The day on which time alone ends it, for an event that begins it."""
    if event.kind != "growing" or ladder.growing is None:
        return None
    return event.day + ladder.growing.time
