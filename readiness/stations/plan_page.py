"""What the page of an evening's stations shows: a plan that was taken, or one that is offered."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.http import QueryDict

from readiness.engine.stations import planner
from readiness.engine.stations.plan import Clash, Plan
from readiness.engine.stations.problem import At, Post
from readiness.stations import words
from readiness.stations.choices import (
    choices,
    ground_address,
    settled_in,
    settled_words,
)
from readiness.stations.evening.clock import begins
from readiness.stations.evening.gather import Evening, Settled, gather, roster_of
from readiness.stations.evening.set_up import drill_of
from readiness.stations.forms import TakeForm
from readiness.stations.settled import (
    address_of,
    pairs_of,
    query_of,
    settled_by,
)
from readiness.stations.taken import Taken, draft_of, last_before, taken_of
from studio.models import Child, Meeting, Staff


@dataclass(frozen=True)
class Cell:
    rotation: int
    children: list[str]
    adults: list[str]


@dataclass(frozen=True)
class StationRow:
    """where: its places in the hall, empty where nobody knows."""

    name: str
    spotters: str
    where: str
    cells: list[Cell]


@dataclass(frozen=True)
class ChildRow:
    """gets: (drill, why, empty where it only keeps busy), in the order of rotations."""

    name: str
    gets: list[tuple[str, str]]


@dataclass(frozen=True)
class Answer:
    """An evening with its plan; None: it cannot be done, or is not known yet."""

    evening: Evening
    settled: Settled
    plan: Plan | None
    clash: Clash | None = None


def answer(meeting: Meeting, query: Mapping[str, list[str]], taken: Taken | None) -> Answer:
    """A plan, near tonight's, or else near that of the last evening."""
    roster = roster_of(meeting)
    settled = settled_by(query, roster, taken.plan if taken else None)
    evening = gather(roster, settled)
    if not evening.problem.children:
        return Answer(evening, settled, None, Clash(()))
    near = taken.plan if taken else last_before(meeting)
    found = planner.plan(evening.problem, near)
    if isinstance(found, Clash):
        return Answer(evening, settled, None, found)
    return Answer(evening, settled, replace(found, places=_numbered(evening, found)))


def _numbered(evening: Evening, plan: Plan) -> dict[str, tuple[tuple[int, ...], tuple[int, ...]]]:
    """The planner counts the places that are left; here they are the hall's own."""
    walls, floors = evening.places
    return {
        key: (tuple(walls[at] for at in wall), tuple(floors[at] for at in floor))
        for key, (wall, floor) in plan.places.items()
    }


def plan_context(meeting: Meeting, data: QueryDict) -> dict[str, Any]:
    taken, query = taken_of(meeting), query_of(data)
    if taken is not None and not query and "again" not in data:
        return _taken_context(meeting, taken)
    found = answer(meeting, query, taken)
    evening = found.evening
    context: dict[str, Any] = {
        **_about(evening),
        "offered": True,
        "is_new": taken is None,
        "start": found.settled.start,
        "hidden": pairs_of(query),
        "ground": ground_address(evening, query),
        "settled": [*settled_words(evening, query)],
    }
    if found.plan is None:
        remedies = found.clash.remedies if found.clash else ()
        return context | {
            "clash": bool(evening.problem.children),
            "nobody": not evening.problem.children,
            "remedies": [words.remedy_text(evening, fixes) for fixes in remedies],
            **choices(evening, None),
        }
    whole = with_done(found)
    return context | {
        **tables(evening, whole, evening.problem.rotations),
        **choices(evening, whole),
        "how_good": words.how_good_text(found.plan),
        "missed": missed(evening, whole),
        "shares": shares(evening, whole),
        "take_form": TakeForm(initial={"draft": draft_of(meeting, evening.problem, found.plan)}),
    }


def _taken_context(meeting: Meeting, taken: Taken) -> dict[str, Any]:
    evening = gather(roster_of(meeting), Settled(taken.row.rotations, taken.row.minutes))
    settled = settled_in(evening, taken.plan)
    return {
        **_about(evening),
        **tables(evening, taken.plan, taken.row.rotations),
        "taken": words.taken_text(taken.row),
        "again": address_of(settled),
        "ground": ground_address(evening, settled),
        "minutes": taken.row.minutes,
        "missed": missed(evening, taken.plan),
        "shares": shares(evening, taken.plan),
        "no_more": list(_no_more(evening, taken.plan)),
    }


def _about(evening: Evening) -> dict[str, Any]:
    return {
        "meeting": evening.meeting,
        "surface": evening.ladder.surface_names[evening.surface],
        "minutes": evening.problem.minutes,
        "notices": words.notices(evening),
    }


def with_done(found: Answer) -> Plan:
    """The plan of all rotations: those that are over as they were."""
    assert found.plan is not None
    done = sorted(found.settled.done, key=lambda each: (each.rotation, each.station))
    at = tuple(each for each in done if isinstance(each, At))
    posts = tuple(each for each in done if isinstance(each, Post))
    plan = found.plan
    return Plan((*at, *plan.at), (*posts, *plan.posts), plan.places, plan.worth, plan.bound)


# --- the tables -------------------------------------------------------------------------------


def tables(evening: Evening, plan: Plan, rotations: int) -> dict[str, Any]:
    return {
        "rotations": [
            (at + 1, begins(evening.meeting, at, evening.problem.minutes))
            for at in range(rotations)
        ],
        "stations": list(_station_rows(evening, plan, rotations)),
        "children": list(_child_rows(evening, plan)),
    }


def _station_rows(evening: Evening, plan: Plan, rotations: int) -> Iterator[StationRow]:
    children, adults = defaultdict(list), defaultdict(list)
    for each in plan.at:
        children[each.station, each.rotation].append(_called(evening.children, each.child))
    for post in plan.posts:
        adults[post.station, post.rotation].append(_called(evening.adults, post.adult))
    used = {station for station, _rotation in [*children, *adults]}
    order = {drill: at for at, drill in enumerate(evening.ladder.drills)}

    def place(key: str) -> tuple[int, int, str]:
        drill, spotters = drill_of(key)
        return order.get(drill, 0), spotters, key

    for key in sorted(used, key=place):
        yield StationRow(
            words.place_name(evening, key),
            words.spotters_text(drill_of(key)[1]),
            words.where_text(plan.places.get(key)),
            [
                Cell(at + 1, sorted(children[key, at]), sorted(adults[key, at]))
                for at in range(rotations)
            ],
        )


def _child_rows(evening: Evening, plan: Plan) -> Iterator[ChildRow]:
    """By name; each drill once with why, where it has a reason."""
    gets: dict[int, list[tuple[str, str]]] = defaultdict(list)
    for each in sorted(plan.at, key=lambda each: each.rotation):
        need = evening.needs.get(each.child, {}).get(drill_of(each.station)[0])
        why = words.reason_text(evening, need) if need else ""
        gets[each.child].append((words.station_name(evening, each.station), why))
    named = sorted(gets, key=lambda child: _called(evening.children, child))
    for child in named:
        yield ChildRow(_called(evening.children, child), gets[child])


def missed(evening: Evening, plan: Plan) -> list[str]:
    """Who does not get what is needed tonight, a sentence for all who lack the same."""
    given: dict[int, set[str]] = defaultdict(set)
    for each in plan.at:
        given[each.child].add(drill_of(each.station)[0])
    found: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for child, needs in evening.needs.items():
        lacks = tuple(
            f"{evening.ladder.drills[drill]['name']} ({words.reason_text(evening, need)})"
            for drill, need in needs.items()
            if need.is_needed and drill not in given[child]
        )
        if lacks and child in given:
            found[lacks].append(_called(evening.children, child))
    return sorted(words.missed_text(sorted(names), lacks) for lacks, names in found.items())


def shares(evening: Evening, plan: Plan) -> list[str]:
    """Why each child who is held tonight has so many turns, the first in line first. For staff."""
    held = {(each.child, drill_of(each.station)[0]) for each in plan.at}
    return [
        words.held_text(evening, each)
        for child, each in evening.shares.items()
        if (child, each.drill) in held and child in evening.children
    ]


def _no_more(evening: Evening, plan: Plan) -> Iterator[str]:
    """Who may by now not be where the plan that was taken has them: something came in since."""
    away = {child.pk for child in evening.away}
    for each in plan.at:
        drill, spotters = drill_of(each.station)
        need = evening.needs.get(each.child, {}).get(drill)
        gone = each.child in away
        asked = None if need is None else max(need.work.spotters, 0)
        if gone or asked is None or asked > spotters:
            yield words.settled_text(evening, each, banned=True)


def _called(people: Mapping[int, Child] | Mapping[int, Staff], key: int) -> str:
    """Of somebody who is not of the class any more nothing is shown."""
    person = people.get(key)
    return "" if person is None else words.name_of(person)
