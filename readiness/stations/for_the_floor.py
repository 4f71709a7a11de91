"""What a class's pack says of the stations that were taken for its evening.

Shared: used by the floor's pack.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from readiness.engine.stations.plan import Plan
from readiness.models import RotationBegun
from readiness.record.told.rotations import rotation_begun
from readiness.spotters.tonight import Adult
from readiness.stations.evening.set_up import drill_of
from readiness.stations.taken import taken_of
from studio.models import Child, Meeting

Data = dict[str, Any]


def stations_for_floor(
    meeting: Meeting, children: Iterable[Child], adults: Iterable[Adult]
) -> Data | None:
    """None: no plan was taken. rotations: of each its stations, with who is there by public id, of
    those who belong to the evening still. begun: the latest."""
    taken = taken_of(meeting)
    if taken is None:
        return None
    begun = rotation_begun(meeting)
    people = {child.pk: str(child.uuid) for child in children}
    staff = {each.pk: {"id": str(each.uuid), "name": each.called} for each in adults}
    return {
        "minutes": taken.row.minutes,
        "rotations": _rotations(taken.plan, taken.row.rotations, people, staff),
        "begun": _begun(begun) if begun else None,
    }


def _rotations(
    plan: Plan, count: int, children: Mapping[int, str], adults: Mapping[int, Data]
) -> list[list[Data]]:
    there: dict[tuple[int, str], tuple[list[str], list[Data]]] = defaultdict(lambda: ([], []))
    for each in plan.at:
        if each.child in children:
            there[each.rotation, each.station][0].append(children[each.child])
    for post in plan.posts:
        if post.adult in adults:
            there[post.rotation, post.station][1].append(adults[post.adult])
    found: list[list[Data]] = [[] for _rotation in range(count)]
    for (rotation, key), (own, led_by) in there.items():
        drill, spotters = drill_of(key)
        station = {"key": key, "drill": drill, "spotters": spotters}
        found[rotation].append(station | {"children": own, "adults": led_by})
    return found


def _begun(row: RotationBegun) -> Data:
    return {"id": str(row.pk), "number": row.number, "at": row.at.isoformat()}
