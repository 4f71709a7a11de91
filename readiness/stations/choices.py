"""What the small forms beside a plan offer, and what is settled by them."""

from collections.abc import Iterator, Mapping
from operator import itemgetter
from typing import Any

from readiness.engine.stations.plan import Plan
from readiness.engine.stations.problem import At, Post
from readiness.stations import words
from readiness.stations.evening.gather import Evening
from readiness.stations.evening.set_up import drill_of, split_key
from readiness.stations.settled import address_of, without
from studio.models import Child, Staff


def choices(evening: Evening, plan: Plan | None) -> dict[str, Any]:
    """people, stations; cells: under each rotation that is still open who is where."""
    people = [
        *((str(each.uuid), each.listed) for each in evening.children.values()),
        *((str(each.uuid), each.called) for each in evening.adults.values()),
    ]
    stations = [
        (each.key, words.station_name(evening, each.key)) for each in evening.problem.stations
    ]
    still = range(evening.problem.start, evening.problem.rotations)
    return {
        "people": people,
        "station_choices": stations,
        "undivided": _undivided(evening, plan) if plan else [],
        "cells": [(at + 1, sorted(_cells(evening, plan, at), key=itemgetter(1))) for at in still]
        if plan
        else [],
        "open_rotations": [at + 1 for at in still],
        "all_rotations": evening.problem.rotations,
    }


def _undivided(evening: Evening, plan: Plan) -> list[tuple[str, str]]:
    """The stations of the plan that could be split, in the ladder's order."""
    used = {each.station for each in plan.at}
    seconds = {split_key(each.key) for each in evening.problem.stations}
    return [
        (each.key, words.station_name(evening, each.key))
        for each in evening.problem.stations
        if each.key in used and split_key(each.key) is None and each.key not in seconds
    ]


def _cells(evening: Evening, plan: Plan, rotation: int) -> Iterator[tuple[str, str]]:
    every: list[At | Post] = [*plan.at, *plan.posts]
    for each in every:
        if each.rotation != rotation:
            continue
        person = words.person_of(evening, each)
        if person is not None:
            label = f"{words.name_of(person)}, {words.station_name(evening, each.station)}"
            yield f"{person.uuid}~{each.station}~{rotation + 1}", label


def settled_words(evening: Evening, query: Mapping[str, list[str]]) -> Iterator[tuple[str, str]]:
    """What is settled in words, each with the address of the page without it."""
    people: dict[str, Child | Staff] = {
        str(child.uuid): child for child in evening.children.values()
    }
    people |= {str(each.uuid): each for each in evening.adults.values()}
    if "1" in query.get("ground", []):
        yield str(words.NOBODY_SPOTS), address_of(without(query, "ground", "1"))
    for key in query.get("split", []):
        if drill_of(key)[0] in evening.ladder.drills:
            yield words.split_text(evening, key), address_of(without(query, "split", key))
    for name in ("lock", "ban", "here"):
        for value in query.get(name, []):
            who, middle, last = [*value.split("~"), "", ""][:3]
            if who not in people or not last.isdecimal():
                continue
            person = people[who]
            if name == "here":
                first = int(middle) if middle.isdecimal() else 1
                text = words.here_text(words.name_of(person), range(first - 1, int(last)))
            else:
                kind = At if isinstance(person, Child) else Post
                text = words.settled_text(
                    evening, kind(person.pk, middle, int(last) - 1), name == "ban"
                )
            yield text, address_of(without(query, name, value))


def settled_in(evening: Evening, plan: Plan) -> dict[str, list[str]]:
    """What stays settled when a plan that was taken is made again: what it has at two places, and
    that nobody spots if it holds nobody, while somebody could be held."""
    used = {each.station for each in plan.at}
    found = {"split": sorted(first for each in used if (first := split_key(each)) is not None)}
    if not any(drill_of(key)[1] for key in used) and evening.shares:
        found["ground"] = ["1"]
    return found


def ground_address(evening: Evening, query: Mapping[str, list[str]]) -> str:
    """The address of an evening of ground work; empty if it is one already."""
    return "" if evening.ground else address_of({**query, "ground": ["1"]})
