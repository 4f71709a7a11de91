"""Logs that look too good: who logs far fewer turns that were not clean than the others do at the
same drills, or only some of a child's first turns of the day."""

import datetime
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import QuerySet

from readiness.engine.ladder import Ladder
from readiness.engine.statistics.agreement import Logged, LogReading, who_logs_only_clean
from readiness.engine.statistics.first_turns import Evening, FewTurns, who_logs_few_turns
from readiness.models import DayTally
from studio import access
from studio.models import Child, Staff
from studio.people.records import records_of, root_of

# A term.
LOOKED_AT = datetime.timedelta(days=84)


class Row(NamedTuple):
    """A day tally, as far as it is looked at here."""

    child: int
    drill: str
    day: datetime.date
    author: int
    support: int
    turns: int
    clean: int
    stop_signs: int


@dataclass(frozen=True)
class TooGood:
    """What stands out in one person's log. since: the first day of it that was looked at; few,
    misses: None where nothing stands out."""

    author: Staff
    since: datetime.date
    misses: LogReading | None
    few: FewTurns | None


def logs_too_good(
    children: Sequence[Child], staff: Staff, ladder: Ladder, today: datetime.date
) -> list[TooGood]:
    """Of the colleagues whom this person may see, at these children; by name. The comparison is
    with all who logged there."""
    drills = [d.key for d in ladder.drills.values() if d.measure == "clean" and d.support_logged]
    rows = list(_rows(children, drills, today - LOOKED_AT))
    misses = {read.author: read for read in _only_clean(rows)}
    few = {read.author: read for read in who_logs_few_turns(_evenings(rows))}
    since: dict[int, datetime.date] = {}
    for row in rows:
        since[row.author] = min(row.day, since.get(row.author, row.day))
    people = access.visible_colleagues(staff).filter(pk__in={*misses, *few})
    found = [
        TooGood(person, since[person.pk], misses.get(person.pk), few.get(person.pk))
        for person in people
    ]
    return sorted(found, key=lambda each: (each.author.called.casefold(), each.author.pk))


def _rows(children: Sequence[Child], drills: Sequence[str], since: datetime.date) -> Iterator[Row]:
    tallies = DayTally.objects.filter(
        child__in=list(records_of([child.pk for child in children])),
        day__gte=since,
        drill__key__in=drills,
    )
    columns: QuerySet[Any, Any] = tallies.values_list(
        root_of("child"),
        "drill__key",
        "day",
        "author_id",
        "support",
        "turns",
        "clean",
        "stop_signs",
    )
    return (Row(*row) for row in columns)


def _only_clean(rows: Sequence[Row]) -> Iterator[LogReading]:
    """A drill is compared with itself at the same support."""
    logs = (Logged(r.author, f"{r.drill} {r.support}", r.turns, r.clean) for r in rows)
    return (read for read in who_logs_only_clean(logs) if read.code in ("only-clean", "too-good"))


def _evenings(rows: Sequence[Row]) -> Iterator[Evening]:
    grouped: dict[tuple[int, str, datetime.date], list[Row]] = defaultdict(list)
    for row in rows:
        grouped[row.child, row.drill, row.day].append(row)
    for each in grouped.values():
        yield Evening(
            authors=frozenset(row.author for row in each),
            turns=sum(row.turns for row in each),
            ended=any(row.stop_signs for row in each),
        )
