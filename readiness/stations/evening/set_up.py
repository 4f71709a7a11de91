"""Which stations could be set up on an evening: those that serve most, and enough for everybody."""

from collections.abc import Collection, Iterable, Mapping, Sequence

from readiness.engine.stations.problem import Station, Work
from readiness.record.ladders import NamedLadder, turn_seconds
from readiness.stations.evening.equipment import WALL

# So many drills are weighed for what they are worth; with the ones that keep everybody busy not
# more than the second number, if nobody is left without.
MOST_WORTH, MOST_DRILLS = 7, 11

# At the end of the key of a second place.
SECOND = "/2"

# By child, by drill.
Works = Mapping[int, Mapping[str, Work]]


def key_of(drill: str, spotters: int) -> str:
    return f"{drill}+{spotters}" if spotters else drill


def second_of(key: str) -> str:
    """The key of the second place of a station that is split."""
    return key + SECOND


def split_key(key: str) -> str | None:
    """The station whose second place this is; None: it is a station's first place."""
    return key.removesuffix(SECOND) if key.endswith(SECOND) else None


def drill_of(key: str) -> tuple[str, int]:
    """The drill of a station, and with how many spotters."""
    drill, _plus, spotters = key.removesuffix(SECOND).partition("+")
    return drill, int(spotters) if spotters.isdecimal() else 0


def stations_for(
    ladder: NamedLadder,
    works: Works,
    spotted: Collection[str],
    rotations: int,
    also: Iterable[str] = (),
    split: Iterable[str] = (),
) -> tuple[Station, ...]:
    """``spotted``: the drills that somebody here may spot; ``also``: stations that are there in any
    case; ``split``: those that are at two places. One drill has a station for each number of
    spotters that somebody is asked for."""
    seconds = {second_of(key): key for key in split if split_key(key) is None}
    wanted = (*also, *seconds, *seconds.values())
    keys = dict.fromkeys(key for key in wanted if drill_of(key)[0] in ladder.drills)
    for drill in _drills(ladder, works, spotted, rotations):
        for own in works.values():
            if drill in own:
                asked = {own[drill].spotters, own[drill].first}
                held = (n for n in asked if n is not None and (not n or drill in spotted))
                keys |= {key_of(drill, spotters): None for spotters in held}
    order = {drill: at for at, drill in enumerate(ladder.drills)}
    in_order = sorted(keys, key=lambda key: (order[drill_of(key)[0]], drill_of(key)[1], key))
    return tuple(station(ladder, key, seconds.get(key, "")) for key in in_order)


def _drills(
    ladder: NamedLadder, works: Works, spotted: Collection[str], rotations: int
) -> list[str]:
    """In the ladder's order."""
    able = [
        {drill: work for drill, work in own.items() if not work.spotters or drill in spotted}
        for own in works.values()
    ]
    order = {drill: at for at, drill in enumerate(ladder.drills)}
    there = sorted({drill for own in able for drill in own}, key=lambda drill: order[drill])
    chosen = _worth_most(there, able)
    # Those that many can do at once with one adult in the room keep everybody busy.
    easy = [drill for drill in there if ladder.drills[drill]["adult"] == "room"]
    chosen += [drill for drill in easy if drill not in chosen]
    chosen = chosen[:MOST_DRILLS]
    for own in able:
        lacking = rotations - sum(drill in own for drill in chosen)
        more = sorted(own.keys() - chosen, key=lambda drill: (-own[drill].worth, order[drill]))
        chosen += more[: max(0, lacking)]
    return sorted(chosen, key=lambda drill: order[drill])


def _worth_most(drills: Sequence[str], able: Sequence[Mapping[str, Work]]) -> list[str]:
    """One after the other; what a child has had one of already weighs half for that child, with two
    a third: so that the few with another need have a station too."""
    chosen: list[str] = []
    had = [0] * len(able)
    while len(chosen) < MOST_WORTH:
        gains = {
            drill: sum(
                own[drill].worth / (1 + already)
                for own, already in zip(able, had, strict=True)
                if drill in own
            )
            for drill in drills
            if drill not in chosen
        }
        best = max(gains, key=lambda drill: gains[drill], default=None)
        if best is None or not gains[best]:
            break
        chosen.append(best)
        had = [
            already + (best in own and own[best].worth > 0)
            for own, already in zip(able, had, strict=True)
        ]
    return chosen


def station(ladder: NamedLadder, key: str, first: str = "") -> Station:
    """``first``: the station that was split into it and this one."""
    drill, spotters = drill_of(key)
    card = ladder.drills[drill]
    needs = dict.fromkeys(card["equipment"], 1)
    wall = needs.pop(WALL, 0)
    return Station(
        key=key,
        drill=drill,
        at_once=card["at_once"],
        seconds=turn_seconds(card, held=spotters > 0),
        spotters=spotters,
        adult=card["adult"],
        equipment=needs,
        wall=wall,
        floor=0 if wall else 1,
        hand_heavy=card["hand_heavy"],
        landings=card["landing"],
        second_of=first,
    )
