"""What a turn shows when it comes in: less support than allowed, paused, closed, pain.

It is a fact about the turn and never a reason to refuse it.
"""

import datetime
import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from progression.log.lines import NewTurn
from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.reading import with_todays_events
from readiness.engine.replay.days import replay_days
from readiness.engine.replay.events import Event, in_order
from readiness.engine.replay.state import ChildState
from readiness.engine.support import allowed_now
from readiness.engine.tallies import Tally, Turn, fault_counts
from readiness.record.day_context import DayContext
from readiness.record.day_tallies import DayTurns, Touched
from readiness.record.evidence_loader import ChildRecord, load
from readiness.record.ladders import Ladders

T = TypeVar("T")

PAUSED, CLOSED, PAIN, LESS_SUPPORT = "paused", "closed", "pain", "less-support"
NO_CONSENT, NO_HANDS = "no-consent", "no-hands"
AFTER_HEAD = "after-head"
FINISHED = "finished"
ENDS_THE_EVENING = ("finished-tonight", "nothing-backward")
NOT_NOW = (PAUSED, CLOSED, AFTER_HEAD, PAIN, NO_CONSENT, NO_HANDS)


def flagged(
    turns: Sequence[NewTurn],
    days: DayTurns,
    tallies: Mapping[Touched, list[Tally]],
    contexts: Mapping[int, DayContext],
    ladders: Ladders,
    roots: Mapping[int, int],
) -> list[NewTurn]:
    """The turns with what they show: less support than allowed, paused, closed, pain.

    A turn of the day that a child's standing begins with needs nothing of the years before;
    for a late one, and for a paper log, the record is walked through up to its day.
    ``roots``: each record's child.
    """
    by_child: dict[int, list[NewTurn]] = defaultdict(list)
    for turn in turns:
        by_child[turn.child.root].append(turn)
    of_before = [child for child in by_child if child not in contexts]
    keys = {key: child for key, child in roots.items() if child in of_before}
    records = load(of_before, ladders, records=keys) if of_before else {}
    days_of, tallies_of = _by_child(days), _by_child(tallies)
    flags: dict[uuid.UUID, tuple[str, ...]] = {}
    for child, new in by_child.items():
        own = _by_day(days_of[child])
        if child in contexts:
            flags.update(_flags_today(new, own, contexts[child], ladders))
        else:
            record = _with_new(records[child], tallies_of[child], days_of[child])
            flags.update(_flags(new, own, record, ladders))
    return [_with_flags(turn, flags.get(turn.id)) for turn in turns]


def _with_flags(turn: NewTurn, flags: tuple[str, ...] | None) -> NewTurn:
    """None: not read, for the turn was struck before it came, and its day has no other."""
    return replace(turn, flags=(*turn.flags, *flags)) if flags else turn


def _by_child(found: Mapping[Touched, T]) -> dict[int, dict[tuple[str, datetime.date], T]]:
    """The same for each child, by drill and day."""
    own: dict[int, dict[tuple[str, datetime.date], T]] = defaultdict(dict)
    for (child, drill, day), each in found.items():
        own[child][drill, day] = each
    return own


def _by_day(own: Mapping[tuple[str, datetime.date], list[Turn]]) -> dict[datetime.date, list[Turn]]:
    """The turns of each day, at all drills."""
    days: dict[datetime.date, list[Turn]] = defaultdict(list)
    for (_drill, day), turns in own.items():
        days[day] += turns
    return days


def _flags_today(
    new: Sequence[NewTurn],
    days: Mapping[datetime.date, list[Turn]],
    context: DayContext,
    ladders: Ladders,
) -> dict[uuid.UUID, tuple[str, ...]]:
    """Of turns of the day that ``context`` begins."""
    state = context.state
    evidence = Evidence((), context.today)
    today = days[state.day]
    ladder = ladders.on(state.day)
    return {turn.id: _flag_of(turn, today, context.events, state, evidence, ladder) for turn in new}


def _flag_of(
    turn: NewTurn,
    today: Sequence[Turn],
    events: Sequence[Event],
    state: ChildState,
    evidence: Evidence,
    ladder: Ladder,
) -> tuple[str, ...]:
    """What a turn shows, after the turns and events of its day that came before it."""
    drill = ladder.drills.get(turn.drill)
    if drill is None:
        return (CLOSED,)
    place = turn.done_at, str(turn.id)
    before = [each for each in today if (each.at, each.id) < place]
    so_far = [event for event in events if event.at <= turn.done_at]
    current = with_todays_events(state, so_far, ladder)
    meeting = turn.meeting.pk if turn.meeting else None
    allowed = allowed_now(drill, current, evidence, ladder, turn.surface, before, meeting)
    return _flag(allowed.support, allowed.causes, turn, drill.support_logged)


def _with_new(
    record: ChildRecord,
    fresh: Mapping[tuple[str, datetime.date], list[Tally]],
    turns: Mapping[tuple[str, datetime.date], list[Turn]],
) -> ChildRecord:
    tallies = [tally for tally in record.tallies if (tally.drill, tally.day) not in fresh]
    faults = Counter({key: n for key, n in record.faults.items() if key[:2] not in fresh})
    for place, new in fresh.items():
        tallies += new
        faults += fault_counts(turns[place])
    return ChildRecord(tallies, record.events, faults)


def _flags(
    new: Sequence[NewTurn],
    days: Mapping[datetime.date, list[Turn]],
    record: ChildRecord,
    ladders: Ladders,
) -> dict[uuid.UUID, tuple[str, ...]]:
    by_day: dict[datetime.date, list[NewTurn]] = defaultdict(list)
    for turn in new:
        by_day[turn.day].append(turn)
    events: dict[datetime.date, list[Event]] = defaultdict(list)
    for event in in_order(record.events):
        events[event.day].append(event)
    evidence = Evidence(record.tallies, faults=record.faults)
    flags: dict[uuid.UUID, tuple[str, ...]] = {}
    last = max(by_day)
    for state in replay_days(evidence, record.events, last, ladders.on):
        ladder = ladders.on(state.day)
        so_far = events.get(state.day, [])
        for turn in by_day.get(state.day, ()):
            flags[turn.id] = _flag_of(turn, days[state.day], so_far, state, evidence, ladder)
    return flags


def _flag(
    support: int | None, causes: Sequence[str], turn: NewTurn, support_logged: bool
) -> tuple[str, ...]:
    if support is None:
        known = [cause for cause in causes if cause in NOT_NOW]
        known += [FINISHED for cause in causes if cause in ENDS_THE_EVENING]
        return (known[0],) if known else (LESS_SUPPORT,)
    return (LESS_SUPPORT,) if support_logged and turn.support < support else ()
