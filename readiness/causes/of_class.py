"""What the page of a class's causes shows."""

import datetime
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from readiness.causes.words import first_causes_text, line_text, roots_text
from readiness.engine.causes.of_group import GroupCauses, group_causes, shared_misses
from readiness.engine.causes.roots import WITHIN_DAYS
from readiness.engine.tallies import Turn
from readiness.record.evidence_loader import turns_between
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.models import ClassGroup, Meeting, Staff
from studio.people.records import records_of
from studio.people.today import site_today


@dataclass(frozen=True)
class DrillRow:
    """A drill over the term, with the roots of its misses and whose first cause each is."""

    key: str
    name: str
    read: GroupCauses
    roots: str
    firsts: str


@dataclass(frozen=True)
class LogRow:
    """What somebody's log can tell: misses, and those with a fault marked."""

    name: str
    misses: int
    marked: int


def class_context(staff: Staff, group: ClassGroup, now: datetime.datetime) -> dict[str, Any]:
    """By a number of queries that does not grow with the class."""
    today = site_today(now)
    ladder = Ladders().named_on(today)
    members = (
        access.visible_children(staff, today).filter(classes=group).values_list("pk", flat=True)
    )
    first = today - datetime.timedelta(days=WITHIN_DAYS - 1)
    by_child = turns_between(records_of(list(members)), first, today)
    evening = last_evening(group, by_child.values(), today)
    shared = shared_misses(by_child, evening, ladder.engine) if evening else []
    return {
        "group": group,
        "children": len(members),
        "evening": evening,
        "is_tonight": evening == today,
        "lines": [line_text(ladder, each) for each in shared],
        "drills": [
            _drill_row(ladder, each) for each in group_causes(by_child, today, ladder.engine)
        ],
        "logs": _log_rows(by_child.values(), ladder),
        "untouched": untouched(by_child.values(), ladder),
    }


def last_evening(
    group: ClassGroup, turns: Iterable[Sequence[Turn]], today: datetime.date
) -> datetime.date | None:
    """The last day of this class on which these children had turns."""
    met = set(Meeting.objects.filter(group=group, date__lte=today).values_list("pk", flat=True))
    days = {turn.day for own in turns for turn in own if turn.meeting in met}
    return max(days, default=None)


def _drill_row(ladder: NamedLadder, read: GroupCauses) -> DrillRow:
    return DrillRow(
        read.drill,
        ladder.drills[read.drill]["name"],
        read,
        roots_text(ladder, read.roots),
        first_causes_text(ladder, read),
    )


def untouched(turns: Iterable[Sequence[Turn]], ladder: NamedLadder) -> list[tuple[str, str]]:
    """(key, name) of the drills that are open to every child and lead to others, at which none of
    these children had a turn; in the ladder's order."""
    done = {turn.drill for own in turns for turn in own}
    first_stage = ladder.engine.stages[0].code
    return [
        (drill.key, ladder.drills[drill.key]["name"])
        for drill in ladder.engine.drills.values()
        if drill.stage == first_stage and not drill.skill and drill.key not in done
    ]


def _log_rows(turns: Iterable[Sequence[Turn]], ladder: NamedLadder) -> list[LogRow]:
    """By who logged, the most misses first."""
    misses: Counter[int] = Counter()
    marked: Counter[int] = Counter()
    for own in turns:
        for turn in own:
            if turn.clean is False:
                misses[turn.author] += 1
                marked[turn.author] += bool(set(turn.faults) & ladder.faults.keys())
    people = Staff.objects.in_bulk(misses)
    rows = [LogRow(people[pk].called, times, marked[pk]) for pk, times in misses.items()]
    return sorted(rows, key=lambda row: (-row.misses, row.name))
