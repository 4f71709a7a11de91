"""Which root most misses at a drill come from.

A miss is a turn that was not clean; a turn that the child stopped before it began is none. Each
counts by the support it was done at, since hands hide what would have gone wrong, split over the
roots of its faults, and fades as in a clean gate.
"""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.statistics.shares import Share, chance_of_largest, shares
from readiness.engine.tallies import Turn, in_order, is_no_turn, stop_sign_ids

# Days of turns that are read, the reading's own with them.
WITHIN_DAYS = 84
# What a miss counts; without hands it counts whole (common practice, no source).
HELD = {Support.HANDS_ON: 0.5, Support.LIGHT_TOUCH: 0.75}
# The first root is named from this chance on that it is the largest.
SURE_ENOUGH = 0.8

Times = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Root:
    """A root of misses. misses: how many had it, whole. faults: those that point there, with how
    many misses, the most frequent first."""

    key: str
    share: Share
    misses: int
    faults: Times


@dataclass(frozen=True)
class Causes:
    """Where the misses at a drill come from.

    turns, misses: all that were read. marked: misses with a fault whose root is known. roots: those
    that were seen, the largest share first. certainty: the chance that the first of them is the
    largest of all. stop_signs: faults of misses that were stop signs.
    """

    drill: str
    turns: int
    misses: int
    marked: int
    roots: tuple[Root, ...]
    certainty: float
    stop_signs: Times

    @property
    def first(self) -> Root | None:
        """The first root, if it is sure enough that no other is larger."""
        return self.roots[0] if self.roots and self.certainty >= SURE_ENOUGH else None


def causes(turns: Iterable[Turn], drill: str, day: datetime.date, ladder: Ladder) -> Causes:
    """Read on ``day`` from the unstruck turns of one child, or of several children together.

    Turns at other drills, of later days, and older ones than WITHIN_DAYS are ignored.
    """
    counted = in_window(turns, drill, day, ladder)
    misses = [turn for turn in counted if turn.clean is False]
    marked = [turn for turn in misses if roots_of(turn, ladder)]
    weights = _weights(marked, _fading(counted, day, ladder), ladder)
    # A ladder with one strand has nothing to tell apart.
    tells = bool(marked) and len(weights) > 1
    return Causes(
        drill,
        len(counted),
        len(misses),
        len(marked),
        _roots(marked, weights, ladder) if tells else (),
        chance_of_largest(weights, weights.index(max(weights))) if tells else 0.0,
        _stop_signs(counted, ladder),
    )


def in_window(turns: Iterable[Turn], drill: str, day: datetime.date, ladder: Ladder) -> list[Turn]:
    """The turns at the drill that are read on ``day``."""
    return [
        turn
        for turn in turns
        if turn.drill == drill
        and 0 <= (day - turn.day).days < WITHIN_DAYS
        and not is_no_turn(turn, ladder.stops)
    ]


def roots_of(turn: Turn, ladder: Ladder) -> list[str]:
    """The distinct roots of a turn's faults, in the ladder's order."""
    found = {ladder.faults[fault].root for fault in turn.faults if fault in ladder.faults}
    return [strand for strand in ladder.strands if strand in found]


def _fading(
    turns: Sequence[Turn], day: datetime.date, ladder: Ladder
) -> Mapping[datetime.date, float]:
    """What a turn of each day still counts: half with so many later days, and with time."""
    days = sorted({turn.day for turn in turns}, reverse=True)
    decay = ladder.decay
    return {
        each: 2.0 ** (-later / decay.days - (day - each).days / decay.time)
        for later, each in enumerate(days)
    }


def _weights(
    misses: Sequence[Turn], fading: Mapping[datetime.date, float], ladder: Ladder
) -> list[float]:
    """In the order of the ladder's strands."""
    weights = dict.fromkeys(ladder.strands, 0.0)
    for turn in in_order(misses):
        own = roots_of(turn, ladder)
        for root in own:
            weights[root] += HELD.get(Support(turn.support), 1.0) * fading[turn.day] / len(own)
    return list(weights.values())


def _roots(misses: Sequence[Turn], weights: Sequence[float], ladder: Ladder) -> tuple[Root, ...]:
    faults: dict[str, Counter[str]] = defaultdict(Counter)
    misses_from = Counter(root for turn in misses for root in roots_of(turn, ladder))
    for turn in misses:
        for fault in set(turn.faults) & ladder.faults.keys():
            faults[ladder.faults[fault].root][fault] += 1
    found = [
        Root(strand, share, misses_from[strand], by_times(faults[strand]))
        for strand, share in zip(ladder.strands, shares(weights), strict=True)
        if strand in faults
    ]
    return tuple(sorted(found, key=lambda root: -root.share.share))


def _stop_signs(turns: Sequence[Turn], ladder: Ladder) -> Times:
    seen: Counter[str] = Counter()
    by_day: dict[datetime.date, list[Turn]] = defaultdict(list)
    for turn in turns:
        by_day[turn.day].append(turn)
    for of_day in by_day.values():
        stopped = stop_sign_ids(of_day, ladder.stops)
        for turn in of_day:
            if turn.id in stopped:
                seen.update(set(turn.faults) & ladder.faults.keys())
    return by_times(seen)


def by_times(counter: Counter[str]) -> Times:
    """The most frequent first."""
    return tuple(sorted(counter.items(), key=lambda item: (-item[1], item[0])))
