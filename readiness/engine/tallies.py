"""Turns, and the day tallies they fold into."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from readiness.engine.ladder import Support


@dataclass(frozen=True, slots=True)
class Turn:
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


@dataclass(frozen=True, slots=True)
class Tally:
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


def in_order(turns: Iterable[Turn]) -> list[Turn]:
    """By time, then id: the order in which they were done."""
    return sorted(turns, key=lambda turn: (turn.at, turn.id))


def stop_sign_ids(turns: Iterable[Turn], stops: Mapping[str, str]) -> set[str]:
    """The ids of those turns of one child, drill and day that are stop signs.

    ``stops`` says of each fault whether it is one: ``yes``, ``no``, ``second`` (from the
    second one on that day) or ``unheld`` (at standing by or unspotted only). A caught turn
    always is.
    """
    seen: Counter[str] = Counter()
    found = set()
    for turn in in_order(turns):
        seen.update(set(turn.faults))
        if turn.caught or any(_stops(turn, fault, seen[fault], stops) for fault in turn.faults):
            found.add(turn.id)
    return found


def _stops(turn: Turn, fault: str, times_today: int, stops: Mapping[str, str]) -> bool:
    match stops.get(fault, "no"):
        case "yes":
            return True
        case "second":
            return times_today >= 2
        case "unheld":
            return turn.support <= Support.STANDING_BY
    return False


def fold(turns: Iterable[Turn], stops: Mapping[str, str]) -> list[Tally]:
    """Fold turns of one child into day tallies, sorted; the order of arrival is nothing."""
    by_day: dict[tuple[str, datetime.date], list[Turn]] = defaultdict(list)
    for turn in turns:
        by_day[turn.drill, turn.day].append(turn)
    tallies: list[Tally] = []
    for day_turns in by_day.values():
        stopped = stop_sign_ids(day_turns, stops)
        parts: dict[tuple[str, int, int], list[Turn]] = defaultdict(list)
        for turn in in_order(day_turns):
            parts[turn.surface, turn.support, turn.author].append(turn)
        tallies.extend(_tally(part, stopped) for part in parts.values())
    return sorted(tallies, key=lambda t: (t.day, t.drill, t.surface, t.support, t.author))


def _tally(turns: list[Turn], stopped: set[str]) -> Tally:
    first = turns[0]
    values = [turn.value for turn in turns if turn.value is not None]
    graded = sorted(
        (turn.value for turn in turns if turn.graded and turn.value is not None), reverse=True
    )
    return Tally(
        drill=first.drill,
        surface=first.surface,
        support=first.support,
        author=first.author,
        day=first.day,
        turns=len(turns),
        clean=sum(turn.clean is True for turn in turns),
        graded=sum(turn.graded for turn in turns),
        graded_clean=sum(turn.graded and turn.clean is True for turn in turns),
        best=max(values, default=None),
        best_graded=graded[0] if graded else None,
        second_graded=graded[1] if len(graded) > 1 else None,
        total=sum(values),
        stop_signs=sum(turn.id in stopped for turn in turns),
        first_at=first.at,
        first_id=first.id,
        first_clean=first.clean,
        first_graded=first.graded,
    )


def fault_counts(turns: Iterable[Turn]) -> Counter[tuple[str, datetime.date, str]]:
    """How often each fault was seen, by drill and day."""
    return Counter((turn.drill, turn.day, fault) for turn in turns for fault in set(turn.faults))
