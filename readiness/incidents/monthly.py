"""What happened in a month: each incident, and how often per 1,000 turns."""

import calendar
import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet, Sum
from django.utils.translation import gettext as _

from readiness.engine.statistics.rates import per_thousand
from readiness.incidents.words import KINDS, rate_text
from readiness.models import DayTally
from readiness.record.ladders import NamedLadder
from readiness.record.told.incidents import Incident, incidents_of
from readiness.words.names import Names
from studio.models import Child
from studio.people.records import all_records
from studio.people.told_apart import full_names

# Of a month, and of the twelve months that end with it.
Both = tuple[int, int]
# So long what happened is asked for at the top.
ASKED_FOR = datetime.timedelta(days=14)


@dataclass(frozen=True)
class Row:
    incident: Incident
    child: Child
    name: str
    kind: str
    drill: str


@dataclass(frozen=True)
class Count:
    """How often in the month and in the twelve months, and per 1,000 turns."""

    label: str
    month: int
    month_rate: str
    year: int
    year_rate: str


def first_of(text: str, today: datetime.date) -> datetime.date:
    """The first day of the month that somebody asked for, such as 2026-03; else of this one."""
    try:
        asked = datetime.date.fromisoformat(f"{text}-01")
    except ValueError:
        asked = today
    return min(asked, today).replace(day=1)


def month_after(first: datetime.date, months: int) -> datetime.date:
    """The first day so many months later; earlier with a minus."""
    number = first.year * 12 + first.month - 1 + months
    return datetime.date(number // 12, number % 12 + 1, 1)


def monthly_context(
    children: "QuerySet[Child]", first: datetime.date, today: datetime.date, ladder: NamedLadder
) -> dict[str, object]:
    last = first.replace(day=calendar.monthrange(first.year, first.month)[1])
    year_from = month_after(first, -11)
    year = incidents_of(children, year_from, last)
    waiting = not_written_down(children, today)
    month = [each for each in year if each.day >= first]
    rows = _rows([*month, *waiting], ladder, today)
    following = month_after(first, 1)
    return {
        "first": first,
        "before": month_after(first, -1),
        "after": following if following <= today else None,
        "rows": rows[: len(month)],
        "waiting": rows[len(month) :],
        "year_from": year_from,
        **_counts(year, first, _turns(children, year_from, first, last), Names("", ladder, today)),
    }


def not_written_down(children: "QuerySet[Child]", today: datetime.date) -> list[Incident]:
    """What the floor logged in the last two weeks and nobody has told of yet, the newest first."""
    lately = incidents_of(children, today - ASKED_FOR, today)
    return [each for each in lately if each.account is None]


def _rows(found: Sequence[Incident], ladder: NamedLadder, today: datetime.date) -> list[Row]:
    children = Child.objects.in_bulk({each.child for each in found})
    names = full_names(children.values())
    words = Names("", ladder, today)
    return [
        Row(
            each,
            children[each.child],
            names[each.child],
            str(KINDS[each.kind]),
            words.drill(each.drill) if each.drill else "",
        )
        for each in found
    ]


def _counts(
    year: Sequence[Incident], first: datetime.date, turns: Mapping[str, Both], names: Names
) -> dict[str, object]:
    """By what it was, and by drill, each against the turns it could have happened in."""
    month = [each for each in year if each.day >= first]
    whole = sum(each[0] for each in turns.values()), sum(each[1] for each in turns.values())
    kinds = Counter(each.kind for each in month), Counter(each.kind for each in year)
    drills = Counter(each.drill for each in month), Counter(each.drill for each in year)
    by_kind = [
        *(_count(str(KINDS[key]), (kinds[0][key], kinds[1][key]), whole) for key in KINDS),
        _count(_("All"), (len(month), len(year)), whole),
    ]
    by_drill = [
        _count(names.drill(key), (drills[0][key], of_year), turns[key])
        for key, of_year in drills[1].most_common()
        if key in turns
    ]
    return {
        "turns": whole,
        "tables": [(_("what it was"), by_kind), *([(_("drill"), by_drill)] if by_drill else [])],
    }


def _count(label: str, times: Both, turns: Both) -> Count:
    rates = [rate_text(per_thousand(*each)) for each in zip(times, turns, strict=True)]
    return Count(label, times[0], rates[0], times[1], rates[1])


def _turns(
    children: "QuerySet[Child]", year_from: datetime.date, first: datetime.date, last: datetime.date
) -> dict[str, Both]:
    """By drill: in the month and in the twelve months."""
    tallies = DayTally.objects.filter(
        child__in=all_records(children), day__gte=year_from, day__lte=last
    )
    in_month = Sum("turns", filter=Q(day__gte=first), default=0)
    rows = tallies.values_list("drill__key").annotate(month=in_month, year=Sum("turns"))
    return {drill: (month, year) for drill, month, year in rows.order_by("drill__key")}
