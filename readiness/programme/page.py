"""What the programme's page shows."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.formats import date_format

from readiness.engine.statistics.time_in_stage import MARKS, TimeInStage
from readiness.programme import facts
from readiness.programme.charts import Drawing, line_of, stairs_of
from readiness.programme.words import days_range, gate_text, quantile_text
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.models import ClassGroup, Staff
from studio.people.today import site_today
from studio.people.told_apart import name_classes, tell_apart

MONTHS, WEEKS = 12, 26


@dataclass(frozen=True)
class Line:
    """A column of a table with its drawing."""

    name: str
    drawing: Drawing


@dataclass(frozen=True)
class Lines:
    """Drawings side by side, and their table: a row a day or week."""

    lines: list[Line]
    rows: list[tuple[str, tuple[int, ...]]]


@dataclass(frozen=True)
class StageTime:
    """How long children stay in a stage; drawing: None where there is not enough history."""

    name: str
    read: TimeInStage
    quarter: str
    half: str
    three_quarters: str
    drawing: Drawing | None


def context(staff: Staff, now: datetime.datetime, chosen: str) -> dict[str, Any]:
    """``chosen``: the id of a class, or empty for all of this person's."""
    today, ladders = site_today(now), Ladders()
    named = ladders.named_on(today)
    groups = list(access.visible_classes(staff).select_related("location").order_by("name", "pk"))
    name_classes(groups)
    children = list(access.children_in_lists(staff, today).order_by("search_key", "pk"))
    tell_apart(children)
    every = facts.pupils(children, now)
    group = next((each for each in groups if str(each.uuid) == chosen), None)
    some = [pupil for pupil in every if group is None or group in pupil.classes]
    ends, mondays = month_ends(today), last_mondays(today)
    months = [date_format(day, "M Y") for day in ends]
    weeks = [date_format(day, "j M") for day in mondays]
    turns = facts.turns_by_strand(some, ladders, mondays)
    return {
        "groups": groups,
        "group": group,
        "children": sum(pupil.child.left_on is None for pupil in some),
        "months": months,
        "over_time": _lines(facts.by_stage(some, ends), named.stage_names, months),
        "stages": [(code, name) for code, name in named.stage_names.items() if "/" not in code],
        "now": _by_class(every, groups, named, today),
        "times": _times(some, named, today),
        "marks": MARKS,
        "holding": [
            (gate_text(named, each.gate), named.stage_names[each.stage], each)
            for each in facts.holding(some, named.engine, today)
        ],
        "weeks": weeks,
        "span": days_range(mondays[0], today),
        "strands": _lines(turns, named.strand_names, weeks),
        "unseen": facts.unseen(some, today),
    }


def month_ends(today: datetime.date) -> list[datetime.date]:
    """The last days of the months before this one, and today."""
    ends, first = [today], today.replace(day=1)
    for _month in range(MONTHS - 1):
        last = first - datetime.timedelta(days=1)
        ends.append(last)
        first = last.replace(day=1)
    return ends[::-1]


def last_mondays(today: datetime.date) -> list[datetime.date]:
    monday = today - datetime.timedelta(days=today.weekday())
    return [monday - back * facts.WEEK for back in range(WEEKS - 1, -1, -1)]


def _lines(
    counts: Mapping[str, list[int]], names: Mapping[str, str], columns: Sequence[str]
) -> Lines:
    """All on one scale, so that their heights can be held against each other."""
    most = max((max(values) for values in counts.values()), default=0)
    drawn = [Line(names[key], line_of(values, most)) for key, values in counts.items()]
    return Lines(drawn, list(zip(columns, zip(*counts.values(), strict=True), strict=False)))


def _by_class(
    some: Sequence[facts.Pupil],
    groups: Sequence[ClassGroup],
    named: NamedLadder,
    today: datetime.date,
) -> list[tuple[ClassGroup, list[int]]]:
    """A row a class: how many of its children have each stage as their highest."""
    rows = []
    for group in groups:
        own = [pupil for pupil in some if group in pupil.classes]
        counts = facts.by_stage(own, [today])
        stages = [code for code in named.stage_names if "/" not in code]
        rows.append((group, [counts.get(code, [0])[0] for code in stages]))
    return rows


def _times(
    some: Sequence[facts.Pupil], named: NamedLadder, today: datetime.date
) -> list[StageTime]:
    found = []
    for code, read in facts.times(some, named.engine, today).items():
        enough = read.code == "ok"
        found.append(
            StageTime(
                named.stage_names[code],
                read,
                quantile_text(read.quarter),
                quantile_text(read.half),
                quantile_text(read.three_quarters),
                stairs_of(read.steps, MARKS[-1]) if enough else None,
            )
        )
    return found
