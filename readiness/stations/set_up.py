"""Which stations could be set up on an evening: those that serve most, and enough for everybody."""

from collections.abc import Collection, Iterable, Mapping

from readiness.engine.stations.problem import Station, Work
from readiness.record.ladders import NamedLadder
from readiness.stations.equipment import WALL

# So many drills are weighed for what they are worth; with the ones that keep everybody busy not
# more than the second number, if nobody is left without.
MOST_WORTH, MOST_DRILLS = 9, 16
# Seconds of one turn, with getting ready (common practice, no source).
HELD_SECONDS = 30
SECONDS = {"clean": 20, "grade": 20, "seconds": 40, "reps": 40}

# By child, by drill.
Works = Mapping[int, Mapping[str, Work]]


def key_of(drill: str, spotters: int) -> str:
    return f"{drill}+{spotters}" if spotters else drill


def drill_of(key: str) -> tuple[str, int]:
    """The drill of a station, and with how many spotters."""
    drill, _plus, spotters = key.partition("+")
    return drill, int(spotters) if spotters.isdecimal() else 0


def stations_for(
    ladder: NamedLadder,
    works: Works,
    spotted: Collection[str],
    rotations: int,
    also: Iterable[str] = (),
) -> tuple[Station, ...]:
    """``spotted``: the drills that somebody here may spot; ``also``: stations that are there in any
    case. One drill has a station for each number of spotters that somebody is asked for."""
    keys = dict.fromkeys(key for key in also if drill_of(key)[0] in ladder.drills)
    for drill in _drills(ladder, works, spotted, rotations):
        for own in works.values():
            if drill in own:
                asked = {own[drill].spotters, own[drill].first or 0}
                keys |= {key_of(drill, n): None for n in asked if not n or drill in spotted}
    order = {drill: at for at, drill in enumerate(ladder.drills)}
    parts = sorted((drill_of(key) for key in keys), key=lambda each: (order[each[0]], each[1]))
    return tuple(_station(ladder, drill, spotters) for drill, spotters in parts)


def _drills(
    ladder: NamedLadder, works: Works, spotted: Collection[str], rotations: int
) -> list[str]:
    """In the ladder's order."""
    able = {
        child: {drill: work for drill, work in own.items() if not work.spotters or drill in spotted}
        for child, own in works.items()
    }
    worth = {
        drill: sum(own[drill].worth for own in able.values() if drill in own)
        for drill in ladder.drills
    }
    order = {drill: at for at, drill in enumerate(ladder.drills)}
    by_worth = sorted(order, key=lambda drill: (-worth[drill], order[drill]))
    chosen = [drill for drill in by_worth if worth[drill]][:MOST_WORTH]
    # Those that many can do at once with one adult in the room keep everybody busy.
    easy = [drill for drill in by_worth if ladder.drills[drill]["adult"] == "room"]
    there = {drill for own in able.values() for drill in own}
    chosen += [drill for drill in easy if drill in there and drill not in chosen]
    chosen = chosen[:MOST_DRILLS]
    for own in able.values():
        more = sorted(
            (drill for drill in own if drill not in chosen),
            key=lambda drill: (-own[drill].worth, order[drill]),
        )
        lacking = rotations - sum(drill in own for drill in chosen)
        chosen += more[: max(0, lacking)]
    return sorted(chosen, key=lambda drill: order[drill])


def _station(ladder: NamedLadder, drill: str, spotters: int) -> Station:
    card = ladder.drills[drill]
    needs = dict.fromkeys(card["equipment"], 1)
    wall = needs.pop(WALL, 0)
    return Station(
        key=key_of(drill, spotters),
        drill=drill,
        at_once=card["at_once"],
        seconds=HELD_SECONDS if spotters else SECONDS[card["measure"]],
        spotters=spotters,
        adult=card["adult"],
        equipment=needs,
        wall=wall,
        floor=0 if wall else 1,
        hand_heavy=card["hand_heavy"],
        landings=card["landing"],
    )
