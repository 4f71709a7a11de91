"""Classes that share a hall at the same time: what the plans that they took leave for another."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from readiness.record.ladders import NamedLadder
from readiness.record.told.hall import in_the_hall
from readiness.stations.evening.clock import begins, overlap
from readiness.stations.evening.set_up import drill_of, station
from readiness.stations.taken import Taken, taken_of_all
from studio.models import Meeting


@dataclass(frozen=True)
class Beside:
    meeting: Meeting
    taken: Taken


@dataclass(frozen=True)
class InUse:
    """wall, floor: the numbers of places."""

    equipment: Counter[str]
    wall: frozenset[int]
    floor: frozenset[int]


def plans_beside(meeting: Meeting) -> list[Beside]:
    """Of other classes in the same hall whose time overlaps."""
    rows = in_the_hall(meeting).filter(cancelled=False).exclude(pk=meeting.pk)
    others = [each for each in rows.select_related("group") if overlap(meeting, each)]
    taken = taken_of_all(others)
    return [Beside(each, taken[each.pk]) for each in others if each.pk in taken]


def taken_by(others: Iterable[Beside], ladder: NamedLadder) -> InUse:
    equipment: Counter[str] = Counter()
    wall, floor = set(), set()
    for other in others:
        for key in {each.station for each in other.taken.plan.at}:
            if drill_of(key)[0] in ladder.drills:
                equipment.update(station(ladder, key).equipment)
        for at_wall, on_floor in other.taken.plan.places.values():
            wall |= set(at_wall)
            floor |= set(on_floor)
    return InUse(equipment, frozenset(wall), frozenset(floor))


def busy_elsewhere(
    others: Sequence[Beside], meeting: Meeting, rotations: int, minutes: int
) -> dict[int, set[int]]:
    """By adult the rotations of this class in which they have a post in another one."""
    busy: dict[int, set[int]] = defaultdict(set)
    for other in others:
        theirs = other.taken.row.minutes
        for post in other.taken.plan.posts:
            start = begins(other.meeting, post.rotation, theirs)
            end = start + datetime.timedelta(minutes=theirs)
            busy[post.adult] |= {
                at
                for at in range(rotations)
                if begins(meeting, at, minutes) < end and start < begins(meeting, at + 1, minutes)
            }
    return busy
