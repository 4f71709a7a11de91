"""Turns, and the day tallies they add up to.

Both are named tuples: a record has many, and nothing is made faster.
"""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from operator import attrgetter
from typing import NamedTuple

from readiness.engine.levels import Support


class Turn(NamedTuple):
    """One unstruck turn of one child. ``clean`` for clean drills, ``value`` for the others."""

    id: str
    drill: str
    surface: str
    support: int
    author: int
    day: datetime.date
    at: datetime.datetime
    graded: bool
    clean: bool | None = None
    value: float | None = None
    caught: bool = False
    faults: tuple[str, ...] = ()
    # The key of the class's date, if there is one.
    meeting: int | None = None


class Tally(NamedTuple):
    """The turns of one day at a drill, surface and support, by one author."""

    drill: str
    surface: str
    support: int
    author: int
    day: datetime.date
    turns: int
    clean: int
    graded: int
    graded_clean: int
    best: float | None
    best_graded: float | None
    second_graded: float | None
    total: float
    stop_signs: int
    first_at: datetime.datetime
    first_id: str
    first_clean: bool | None
    first_graded: bool


_WHEN = attrgetter("at", "id")


def in_order(turns: Iterable[Turn]) -> list[Turn]:
    """By time, then id: the order in which they were done."""
    return sorted(turns, key=_WHEN)


def stop_sign_ids(turns: Iterable[Turn], stops: Mapping[str, str]) -> set[str]:
    """The ids of those turns of one child, drill and day that are stop signs.

    ``stops`` says of each fault whether it is one: ``yes``, ``no``, ``second`` (from the
    second one on that day), ``unheld`` (at standing by or unspotted only) or ``before`` (the
    child stopped before it began). A caught turn always is.
    """
    times: dict[str, int] = defaultdict(int)
    stopped = set()
    # Most turns have neither.
    for turn in in_order([turn for turn in turns if turn.caught or turn.faults]):
        for fault in set(turn.faults):
            times[fault] += 1
        if turn.caught or any(_stops(turn, fault, times[fault], stops) for fault in turn.faults):
            stopped.add(turn.id)
    return stopped


def _stops(turn: Turn, fault: str, times_today: int, stops: Mapping[str, str]) -> bool:
    match stops.get(fault, "no"):
        case "yes":
            return True
        case "second":
            return times_today >= 2
        case "unheld":
            return turn.support <= Support.STANDING_BY
    return False


def is_no_turn(turn: Turn, stops: Mapping[str, str]) -> bool:
    """True if the child stopped before it began, and nothing else was seen."""
    faults = turn.faults
    return bool(faults) and not turn.caught and all(stops.get(f) == "before" for f in faults)


def tally_turns(turns: Iterable[Turn], stops: Mapping[str, str]) -> list[Tally]:
    """The day tallies of one child's turns, sorted; the order of arrival does not matter."""
    days: dict[tuple[datetime.date, str], list[Turn]] = defaultdict(list)
    for turn in turns:
        if not is_no_turn(turn, stops):
            days[turn.day, turn.drill].append(turn)
    return [tally for key in sorted(days) for tally in _tally_day(days[key], stops)]


def _tally_day(turns: Iterable[Turn], stops: Mapping[str, str]) -> list[Tally]:
    """The same for turns of one day at one drill."""
    ordered = in_order(turns)
    stopped = stop_sign_ids(ordered, stops)
    parts: dict[tuple[str, int, int], list[Turn]] = defaultdict(list)
    for turn in ordered:
        parts[turn.surface, turn.support, turn.author].append(turn)
    return [_tally(parts[key], stopped) for key in sorted(parts)]


def _tally(turns: Sequence[Turn], stopped: set[str]) -> Tally:
    first = turns[0]
    graded = [turn for turn in turns if turn.graded]
    values = [turn.value for turn in turns if turn.value is not None]
    best_graded = sorted([turn.value for turn in graded if turn.value is not None], reverse=True)
    return Tally(
        drill=first.drill,
        surface=first.surface,
        support=first.support,
        author=first.author,
        day=first.day,
        turns=len(turns),
        clean=[turn.clean for turn in turns].count(True),
        graded=len(graded),
        graded_clean=[turn.clean for turn in graded].count(True),
        best=max(values, default=None),
        best_graded=best_graded[0] if best_graded else None,
        second_graded=best_graded[1] if len(best_graded) > 1 else None,
        total=sum(values),
        stop_signs=len([turn for turn in turns if turn.id in stopped]),
        first_at=first.at,
        first_id=first.id,
        first_clean=first.clean,
        first_graded=first.graded,
    )


# By drill, day and fault.
FaultCounts = Counter[tuple[str, datetime.date, str]]


def fault_counts(turns: Iterable[Turn]) -> FaultCounts:
    """How often each fault was seen."""
    return Counter((turn.drill, turn.day, fault) for turn in turns for fault in set(turn.faults))
