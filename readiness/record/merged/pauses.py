"""The pauses of several records united: the child is paused while any of them is.

A lift was given for what its director had before her: for the records that stood for one child
then. While another one was paused it ends nothing.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence

from readiness.engine.replay.days import LadderOn
from readiness.engine.replay.decisions import apply_pause_or_pain
from readiness.engine.replay.events import Event, in_order
from readiness.engine.replay.state import ChildState
from studio.people.records import Merged, together_at

# An event, and the record under which it stands.
OfRecord = tuple[int, Event]


def united(
    events: Collection[OfRecord],
    records: Sequence[int],
    merges: Sequence[Merged],
    ladder_on: LadderOn,
) -> Iterator[Event]:
    """The events of all records of a child, without the lifts that end nothing."""
    record_of = {(event.kind, event.id): record for record, event in events}
    states: dict[int, ChildState] = {}
    for event in in_order([event for _record, event in events]):
        own = record_of[event.kind, event.id]
        is_lift = event.kind == "lift"
        about = together_at(event.at, own, records, merges) if is_lift else (own,)
        for record in about:
            state = states.setdefault(record, ChildState(event.day))
            apply_pause_or_pain(state, event, ladder_on(event.day))
        if not is_lift or not _any_paused(states.values()):
            yield event


def _any_paused(states: Iterable[ChildState]) -> bool:
    return any(state.paused_since is not None for state in states)
