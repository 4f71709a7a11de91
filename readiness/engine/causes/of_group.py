"""The same of a group of children: on one evening, and over the term. In plain counts, as turns of
one child hang together."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.engine.causes.roots import Times, by_times, causes, roots_of
from readiness.engine.ladder import Ladder
from readiness.engine.tallies import Turn, is_no_turn

# Of how many of the children at a drill something is the line's, and of how many at least.
HALF, FEWEST = 0.5, 3

ByChild = Mapping[int, Sequence[Turn]]


@dataclass(frozen=True)
class SharedMiss:
    """On one day: at a drill ``children`` had a turn, ``missed`` of them missed from the root."""

    drill: str
    root: str
    children: int
    missed: int
    faults: Times


@dataclass(frozen=True)
class GroupCauses:
    """A drill over the term. children: those with turns. marked: misses with a fault. roots: how
    many of these misses had each. firsts: whose first cause it is, by how many children. untold:
    how many children missed, and no first cause can be named."""

    drill: str
    children: int
    misses: int
    marked: int
    roots: Times
    firsts: Times
    untold: int


def shared_misses(by_child: ByChild, day: datetime.date, ladder: Ladder) -> list[SharedMiss]:
    """What at least half of the children at a drill missed from on that day; the most first."""
    did: Counter[str] = Counter()
    missed: Counter[tuple[str, str]] = Counter()
    faults: dict[tuple[str, str], Counter[str]] = {}
    for turns in by_child.values():
        today = [t for t in turns if t.day == day and not is_no_turn(t, ladder.stops)]
        did.update({turn.drill for turn in today})
        own = {(t.drill, root) for t in today if t.clean is False for root in roots_of(t, ladder)}
        missed.update(own)
        for turn in today:
            for fault in set(turn.faults) & ladder.faults.keys():
                place = turn.drill, ladder.faults[fault].root
                if place in own:
                    faults.setdefault(place, Counter())[fault] += 1
    found = [
        SharedMiss(drill, root, did[drill], times, by_times(faults[drill, root]))
        for (drill, root), times in missed.items()
        if times >= max(FEWEST, HALF * did[drill])
    ]
    return sorted(found, key=lambda each: (-each.missed, each.drill, each.root))


def group_causes(by_child: ByChild, day: datetime.date, ladder: Ladder) -> list[GroupCauses]:
    """Of each drill at which a miss says something, the one with the most such misses first."""
    at_drill: dict[str, list[list[Turn]]] = defaultdict(list)
    for turns in by_child.values():
        own: dict[str, list[Turn]] = defaultdict(list)
        for turn in turns:
            own[turn.drill].append(turn)
        for drill in own.keys() & ladder.drills.keys():
            at_drill[drill].append(own[drill])
    read = (_at_drill(at_drill[drill], drill, day, ladder) for drill in sorted(at_drill))
    return sorted((each for each in read if each.marked), key=lambda each: -each.marked)


def _at_drill(
    of_children: Sequence[Sequence[Turn]], drill: str, day: datetime.date, ladder: Ladder
) -> GroupCauses:
    read = [causes(turns, drill, day, ladder) for turns in of_children]
    roots: Counter[str] = Counter()
    for each in read:
        roots.update({root.key: root.misses for root in each.roots})
    firsts = Counter(each.first.key for each in read if each.first)
    missing = sum(each.misses > 0 for each in read)
    return GroupCauses(
        drill,
        sum(each.turns > 0 for each in read),
        sum(each.misses for each in read),
        sum(each.marked for each in read),
        by_times(roots),
        by_times(firsts),
        missing - firsts.total(),
    )
