"""Invented evenings to plan: classes of a size, each from its own seed."""

import random
from dataclasses import dataclass

from readiness.engine.stations.problem import Adult, Child, Hall, Problem, Station, Work


@dataclass(frozen=True)
class Size:
    children: int
    stations: int
    rotations: int
    spotters: int
    minutes: int = 8


def evening(size: Size, seed: int) -> Problem:
    """A third of the stations are held, some want an adult beside them. The hall has mats and places at
    the wall for most of what could be set up, not for all. All works of a child: an unmet gate, a
    cause, the way back, or practice."""
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
