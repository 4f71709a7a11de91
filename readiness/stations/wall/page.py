"""What the screen in a hall shows: names used and stations, of this rotation and the next. Of the
record nothing: no support, no reason, no gate."""

import datetime
import zoneinfo
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from readiness.engine.stations.plan import Plan
from readiness.engine.support import allowed_now
from readiness.floor.pack_children import children_of
from readiness.models import RotationBegun, StationPlan
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.standings import Reading, read_many
from readiness.record.told.hall import SpottersGone
from readiness.record.told.rotations import rotation_begun
from readiness.stations.evening.gather import away_from, surface_of
from readiness.stations.evening.set_up import drill_of
from readiness.stations.taken import taken_of
from readiness.stations.words import place_called, where_text
from studio.models import Meeting
from studio.people.names import fold
from studio.people.told_apart import names_in_sight

# So many children fit on the screen at each size of type, the largest first.
SIZES = ((16, "large"), (26, "usual"), (42, "small"))
SMALLEST = "smallest"


@dataclass(frozen=True)
class AtStation:
    """next: the station of the next rotation, empty where there is none."""

    name: str
    next: str


@dataclass(frozen=True)
class StationCard:
    name: str
    where: str
    children: list[AtStation]


@dataclass(frozen=True)
class Room:
    """What may be asked of whom now. names: of who is not said to be away."""

    names: Mapping[int, str]
    readings: Mapping[int, Reading]
    ladder: NamedLadder
    surface: str
    spotter_gone: bool

    def is_open(self, child: int, station: str) -> bool:
        """Not where a drill is closed to the child by now, as by what hurts, nor where it is held
        and the spotter is gone."""
        drill, spotters = drill_of(station)
        reading, ladder = self.readings.get(child), self.ladder.engine
        if reading is None or drill not in ladder.drills or (spotters and self.spotter_gone):
            return False
        about = reading.read.state, reading.evidence, ladder, self.surface, reading.turns
        return allowed_now(ladder.drills[drill], *about).support is not None


def wall_context(meeting: Meeting, now: datetime.datetime) -> dict[str, Any]:
    """``number``: of the rotation that is shown, the first until one has begun; 0 without a plan
    and once stations are over."""
    taken, begun = taken_of(meeting), rotation_begun(meeting)
    context: dict[str, Any] = {"meeting": meeting, "is_over": False, "number": 0}
    if taken is None:
        return context
    row = taken.row
    if begun is not None and begun.number > row.rotations:
        return context | {"is_over": True}
    number, room = begun.number if begun else 1, _room(meeting, now)
    cards, nowhere = _cards(taken.plan, number - 1, room)
    return context | {
        "number": number,
        "rotations": row.rotations,
        "until": _until(begun, row) if begun else None,
        "cards": cards,
        "nowhere": nowhere,
        "size": next((size for most, size in SIZES if len(room.names) <= most), SMALLEST),
    }


def _until(begun: RotationBegun, row: StationPlan) -> datetime.datetime:
    """By the clock of the hall, without a zone."""
    end = begun.at + datetime.timedelta(minutes=row.minutes)
    return end.astimezone(zoneinfo.ZoneInfo(row.meeting.hall.zone)).replace(tzinfo=None)


def _room(meeting: Meeting, now: datetime.datetime) -> Room:
    """By a number of queries that does not grow with the class."""
    every, away, ladders = children_of(meeting), away_from(meeting), Ladders()
    here = [child for child in every if child.pk not in away]
    ladder = ladders.named_on(meeting.date)
    names = names_in_sight(every)
    return Room(
        names={child.pk: names[child.pk] for child in here},
        readings={each.child.pk: each for each in read_many(here, meeting.date, ladders)},
        ladder=ladder,
        surface=surface_of(here, ladder, meeting.date, ()),
        spotter_gone=SpottersGone(meeting.date).at(meeting.pk, now),
    )


def _cards(plan: Plan, rotation: int, room: Room) -> tuple[list[StationCard], list[str]]:
    """In the ladder's order, then the names of those who are at none: a coach says what they do."""
    now, then = _places(plan, rotation, room), _places(plan, rotation + 1, room)
    there: dict[str, list[AtStation]] = defaultdict(list)
    nowhere = []
    for child, name in sorted(room.names.items(), key=lambda each: fold(each[1])):
        if child in now:
            after = place_called(room.ladder, then[child]) if child in then else ""
            there[now[child]].append(AtStation(name, after))
        else:
            nowhere.append(name)
    order = {drill: at for at, drill in enumerate(room.ladder.drills)}
    keys = sorted(there, key=lambda key: (order[drill_of(key)[0]], key))
    return [
        StationCard(place_called(room.ladder, key), where_text(plan.places.get(key)), there[key])
        for key in keys
    ], nowhere


def _places(plan: Plan, rotation: int, room: Room) -> dict[int, str]:
    """By child the station, of those who may be there by now."""
    return {
        each.child: each.station
        for each in plan.at
        if each.rotation == rotation and room.is_open(each.child, each.station)
    }
