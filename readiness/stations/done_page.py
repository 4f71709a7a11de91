"""What the page of planned and done shows."""

from collections.abc import Mapping
from typing import Any

from readiness.record.ladders import Ladders
from readiness.stations import words
from readiness.stations.done import Compared, counts, evening_of
from readiness.stations.evening.gather import roster_of
from studio.models import Meeting


def done_context(meeting: Meeting) -> dict[str, Any]:
    """rows: a child, what was planned with what was logged, what was done beside. away: of whom
    nothing was logged."""
    found, roster = evening_of(meeting), roster_of(meeting)
    context: dict[str, Any] = {"meeting": meeting, "rows": [], "away": [], "taken": ""}
    if found is None:
        return context
    taken, compared = found
    drills = Ladders().named_on(meeting.date).drills
    names = {child.pk: child.listed for child in roster.children}
    known = sorted((each for each in compared if each.child in names), key=lambda e: names[e.child])
    return context | {
        "taken": words.taken_text(taken.row),
        "sum": words.done_text(*counts(known)),
        "rows": [_row(each, names, drills) for each in known if each.here],
        "away": [names[each.child] for each in known if not each.here],
    }


def _row(
    each: Compared, names: Mapping[int, str], drills: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    def named(turns: Mapping[str, int]) -> list[tuple[str, str, bool]]:
        return [
            (drills[key]["name"], words.logged_text(n), n > 0)
            for key, n in turns.items()
            if key in drills
        ]

    return {
        "name": names[each.child],
        "planned": named(each.planned),
        "beside": named(each.beside),
    }
