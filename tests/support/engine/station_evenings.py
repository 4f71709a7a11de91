"""Invented evenings to plan: classes of a size, each from its own seed."""

import random
from dataclasses import dataclass, replace

from readiness.engine.stations.problem import Adult, At, Child, Hall, Problem, Station, Work


@dataclass(frozen=True)
class Size:
    children: int
    stations: int
    rotations: int
    spotters: int
    minutes: int = 8


def evening(size: Size, seed: int) -> Problem:
    """A third of the stations are held, some want an adult beside them. The hall has mats and
    places at the wall for most of what could be set up, not for all. Worth: of an unmet gate 100,
    of the way back 80, of a cause 60; the others are practice."""
    dice = random.Random(f"{size} {seed}")
    stations = tuple(_station(dice, number, size) for number in range(size.stations))
    held = [station.drill for station in stations if station.spotters]
    adults = tuple(
        Adult(number, frozenset(dice.sample(held, dice.randint((len(held) + 1) // 2, len(held)))))
        for number in range(size.spotters)
    )
    children = tuple(
        Child(number, tuple(_works(dice, stations))) for number in range(size.children)
    )
    mats = sum(station.equipment["mat"] for station in stations)
    walls = sum(station.wall for station in stations)
    floors = sum(station.floor for station in stations)
    hall = Hall(
        {"mat": mats - dice.randint(0, 2)},
        tuple(dice.randint(0, 10) for _ in range(max(0, walls - dice.randint(0, 1)))),
        tuple(dice.randint(0, 10) for _ in range(floors)),
    )
    return Problem(children, stations, adults, hall, size.rotations, size.minutes)


def _station(dice: random.Random, number: int, size: Size) -> Station:
    kind = ("held", "beside" if number % 2 else "room", "room")[number % 3]
    seconds = dice.choice((20, 30, 40))
    wall = int(kind != "held" and dice.random() < 0.3)
    return Station(
        key=f"s{number}",
        drill=f"d{number}",
        at_once=1 if kind == "held" else dice.randint(2, 8),
        seconds=seconds,
        spotters=(2 if dice.random() < 0.2 else 1) if kind == "held" else 0,
        adult={"held": "hands", "room": "room", "beside": "station"}[kind],
        equipment={"mat": dice.randint(0, 2)},
        wall=wall,
        floor=1 - wall,
        hand_heavy=dice.random() < 0.4,
        landings=dice.randint(0, 1),
    )


def _works(dice: random.Random, stations: tuple[Station, ...]) -> list[Work]:
    works = []
    for station in stations:
        if dice.random() < (0.6 if station.spotters else 0.9):
            worth = dice.choice((0, 0, 5, 5, 60, 80, 100))
            turns = dice.choice((2, 2, 3, 4, 6)) if station.spotters else 0
            works.append(Work(station.drill, worth, station.spotters, None, turns))
    return works


def varied(seed: int) -> Problem:
    """A small class with everything that may happen: somebody late, somebody leaving, young
    spotters, first turns, a skill held and alone, a station that is split, what the coach settled,
    an evening half over."""
    dice = random.Random(seed)
    size = Size(dice.randint(4, 8), dice.randint(4, 7), dice.randint(3, 5), dice.randint(1, 3), 6)
    problem = evening(size, seed)
    rotations = range(size.rotations)

    def here() -> frozenset[int] | None:
        if dice.random() < 0.7:
            return None
        return frozenset(rotations[dice.randint(0, 2) :])

    held = next(station for station in problem.stations if station.spotters)
    alone = replace(held, key="alone", spotters=0, hand_heavy=True, equipment={})
    stations = [replace(each, present=here() if dice.random() < 0.3 else None)
                for each in (*problem.stations, alone)]  # fmt: skip
    stations += _split(seed, stations)
    children = tuple(
        replace(
            child, present=here(), works=tuple(_first(dice, held, each) for each in child.works)
        )
        for child in problem.children
    )
    adults = tuple(
        replace(each, present=here(), supervises=each.id == 0 or dice.random() < 0.5)
        for each in problem.adults
    )
    places = [
        At(child.id, station.key, rotation)
        for child in children
        for station in stations
        for rotation in rotations
        if any(work.drill == station.drill for work in child.works)
    ]
    settled = dice.sample(places, min(4, len(places)))
    half = dice.random() < 0.4
    done = {(at.child, at.rotation): at for at in dice.sample(places, len(places))}
    return replace(
        problem,
        children=children,
        stations=tuple(stations),
        adults=adults,
        start=half,
        done=frozenset(at for at in done.values() if at.rotation < half),
        locked=frozenset(at for at in settled[:1] if at.rotation >= half),
        banned=frozenset(settled[1:]),
    )


def _split(seed: int, stations: list[Station]) -> list[Station]:
    """Every third time a station has a second place."""
    if seed % 3:
        return []
    first = stations[seed % len(stations)]
    return [replace(first, key=f"{first.key}/2", equipment={}, wall=0, floor=0,
                    second_of=first.key)]  # fmt: skip


def _first(dice: random.Random, held: Station, work: Work) -> Work:
    """Some who were held at the first drill do it alone once the first turn was held."""
    if work.drill != held.drill or dice.random() < 0.5:
        return work
    return replace(work, spotters=0, first=1, turns=0, worth=90)
