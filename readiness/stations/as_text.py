"""A plan, or why there is none, for a terminal and for a program."""

from collections.abc import Iterator
from typing import Any

from readiness.stations import words
from readiness.stations.plan_page import Answer, missed, tables, with_done


def plan_data(found: Answer) -> dict[str, Any]:
    """Rotations are counted from 1; children and adults by their public ids."""
    assert found.plan is not None
    evening, plan = found.evening, with_done(found)
    return {
        "meeting": str(evening.meeting.uuid),
        "rotations": evening.problem.rotations,
        "minutes": evening.problem.minutes,
        "surface": evening.surface,
        "proven_best": plan.proven_best,
        "bound": plan.bound,
        "worth": plan.worth,
        "children": [
            {
                "child": str(evening.children[each.child].uuid),
                "station": each.station,
                "rotation": each.rotation + 1,
            }
            for each in plan.at
            if each.child in evening.children
        ],
        "adults": [
            {
                "adult": str(evening.adults[each.adult].uuid),
                "station": each.station,
                "rotation": each.rotation + 1,
            }
            for each in plan.posts
            if each.adult in evening.adults
        ],
        "missed": missed(evening, plan),
        "notices": words.notices(evening),
    }


def clash_data(found: Answer) -> dict[str, Any]:
    return {"meeting": str(found.evening.meeting.uuid), "remedies": list(_remedies(found))}


def plan_lines(found: Answer) -> Iterator[str]:
    assert found.plan is not None
    evening, plan = found.evening, with_done(found)
    yield from words.notices(evening)
    for row in tables(evening, plan, evening.problem.rotations)["stations"]:
        yield " · ".join(filter(None, (row.name, row.spotters, row.where)))
        for cell in row.cells:
            people = ", ".join([*cell.children, *(f"[{name}]" for name in cell.adults)])
            if people:
                yield f"  {cell.rotation}  {people}"
    yield from missed(evening, plan)
    yield words.how_good_text(found.plan)


def clash_lines(found: Answer) -> Iterator[str]:
    yield from words.notices(found.evening)
    yield from _remedies(found)


def _remedies(found: Answer) -> Iterator[str]:
    for fixes in found.clash.remedies if found.clash else ():
        yield words.remedy_text(found.evening, fixes)
