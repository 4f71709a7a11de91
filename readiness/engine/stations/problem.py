"""What an evening has: children, stations, adults, a hall, rotations; and what was settled by hand.

Rotations are counted from 0. Ids of children and adults are whole numbers; stations, drills and
equipment have keys.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

# Nobody waits longer between two turns: common practice, no source.
LONGEST_WAIT = 120  # seconds
# A spotter who lifted in so many rotations in a row rests in the next.
LIFTS_IN_A_ROW = 3
# So many stations with weight on the hands in a row are one too many.
HAND_HEAVY_IN_A_ROW = 3

AdultKind = Literal["room", "station", "hands"]


@dataclass(frozen=True)
class Work:
    """A drill that a child may do tonight. A drill that she may not do, because of a sore place, a
    pause, a stage that is not open, is not among her works.

    worth: what it is worth that she is there once tonight, 0 to 1000: an unmet gate, a cause, the
        way back. A second time is worth nothing more.
    spotters: how many the support asks for that she is allowed, 0 to 2. She may be at each station
        of the drill that has as many or more.
    first: the same for the day's first turn, if that asks for more; None: it does not, or the
        first turn was taken. Until she was at a station with so many, she is at none with fewer.
    turns: the held turns that are hers tonight, 0 to 20. They fit into the rotation beside those of
        the others there; more than a rotation has room for fill it alone. 0: as many as come.
    """

    drill: str
    worth: int = 0
    spotters: int = 0
    first: int | None = None
    turns: int = 0


@dataclass(frozen=True)
class Child:
    """present: the rotations she is here for; None: all. In each she is at one station."""

    id: int
    works: tuple[Work, ...]
    present: frozenset[int] | None = None


@dataclass(frozen=True)
class Station:
    """A drill set up in the room, with so many spotters whenever it is open. One drill may have two
    stations: held, and not; and each of them may be split.

    at_once: children working at the same moment, from 1.
    seconds: that one turn takes, from 1, with getting ready.
    adult: of the drill's card. A station without spotters whose adult is not "room" is open only
        while an adult who may stands beside it, one adult to a station.
    equipment: how many of which kind it needs, for as long as it is set up: the whole evening.
    wall, floor: places it takes there.
    landings: landings on both hands in one turn, 0 to 2. Kept low as a wish.
    present: the rotations it can be open in; None: all.
    second_of: the key of the station that was split into it and this one; empty: none. Somebody is
        at both at least once, and the children of each rotation are shared evenly between them, the
        odd one at the first.
    """

    key: str
    drill: str
    at_once: int
    seconds: int
    spotters: int = 0
    adult: AdultKind = "room"
    equipment: Mapping[str, int] = field(default_factory=dict)
    wall: int = 0
    floor: int = 0
    hand_heavy: bool = False
    landings: int = 0
    present: frozenset[int] | None = None
    second_of: str = ""

    @property
    def adults(self) -> int:
        """How many have a post here while it is open: its spotters, or who stands beside it."""
        return self.spotters or int(self.adult != "room")

    @property
    def most(self) -> int:
        """Children in one rotation, so that nobody waits too long between turns: children there /
        at once * seconds a turn. Those who all work at the same moment do not wait."""
        return max(self.at_once, self.at_once * LONGEST_WAIT // self.seconds)


@dataclass(frozen=True)
class Adult:
    """Somebody who may spot or stand at a station.

    spots: the drills that this person may spot tonight (age and training). Whoever spotted in three
        rotations in a row rests in the next.
    supervises: of age and cleared: counts as an adult in the room, may stand beside a station. In a
        rotation with just one such person, that person spots nothing while a station needs an adult
        beside it.
    present: the rotations this person is free for; None: all. Another class may have the others.
    """

    id: int
    spots: frozenset[str] = frozenset()
    supervises: bool = True
    present: frozenset[int] | None = None


@dataclass(frozen=True)
class Hall:
    """What this class has of a hall tonight.

    equipment: how many there are of each kind; a kind that is not named is not there.
    wall, floor: for each place how well it is seen from the head of the room, 0 (not at all) to 10.
        Stations with no adult at them are laid where they are seen best: a wish.
    """

    equipment: Mapping[str, int] = field(default_factory=dict)
    wall: tuple[int, ...] = ()
    floor: tuple[int, ...] = ()


@dataclass(frozen=True)
class At:
    """A child at a station in a rotation."""

    child: int
    station: str
    rotation: int


@dataclass(frozen=True)
class Post:
    """An adult at a station in a rotation: spots if it has spotters, else stands beside it."""

    adult: int
    station: str
    rotation: int


@dataclass(frozen=True)
class Problem:
    """An evening to plan.

    rotations: 1 to 20, each of ``minutes`` (1 to 60).
    start: the first rotation that is still to be planned.
    done: what was in the rotations before it. It counts for what may come after (no drill twice,
        rest, first turns) and is not judged itself. Its stations are among the stations.
    locked: must be so. banned: must not be. A swap is two locks. In rotations from start on.

    Nobody is at a drill twice, unless nothing else is open to her: at no other of her drills there
    is a free place in that rotation. At a drill with held turns of hers she is once in any case.
    """

    children: tuple[Child, ...]
    stations: tuple[Station, ...]
    adults: tuple[Adult, ...]
    hall: Hall
    rotations: int
    minutes: int
    start: int = 0
    done: frozenset[At | Post] = frozenset()
    locked: frozenset[At | Post] = frozenset()
    banned: frozenset[At | Post] = frozenset()

    def rotations_of(self, who: Child | Station | Adult) -> list[int]:
        """Those still to be planned for which somebody or a station is there."""
        still = range(self.start, self.rotations)
        return [r for r in still if who.present is None or r in who.present]
