"""What the programme counts: of each child the stages opened, the gate that holds, and when the
child was seen first and last. Shared: used by the plan of a term."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Max, Min, Sum

from readiness.engine.ladder import Ladder
from readiness.engine.reading import CLOSED
from readiness.engine.statistics.time_in_stage import Stay, TimeInStage, time_in_stage
from readiness.models import DayTally, Standing
from readiness.record.ladders import Ladders
from readiness.record.standings import fresh_standings
from studio.models import Attendance, Child, ClassGroup
from studio.people.class_lists import classes_of
from studio.people.records import records_of, root_of

WEEK = datetime.timedelta(weeks=1)
# So long unseen a child is named.
UNSEEN_AFTER = 3 * WEEK


@dataclass(frozen=True)
class Pupil:
    """One child. opened: by stage since when, and by what ("start", "evidence", "signature",
    "placing"). first, last: the days seen, None for one who never was. held_by: the gate that
    holds the stage in reach, or empty."""

    child: Child
    classes: Sequence[ClassGroup]
    opened: Mapping[str, tuple[datetime.date, str]]
    stage_ahead: str
    held_by: str
    first: datetime.date | None
    last: datetime.date | None

    @property
    def highest(self) -> str | None:
        """The highest stage open now, whether the child was seen yet or not."""
        return max(self.opened, key=int, default=None)

    def stage_on(self, day: datetime.date) -> str | None:
        """The highest stage open on a day; None before the first day here, or after leaving."""
        gone = self.child.left_on is not None and self.child.left_on <= day
        if self.first is None or day < self.first or gone:
            return None
        opened = [code for code, (since, how) in self.opened.items() if since <= day]
        return max(opened, key=int, default=None)


def pupils(children: Sequence[Child], now: datetime.datetime) -> list[Pupil]:
    """By a fixed number of queries."""
    classes = classes_of(children)
    standings = fresh_standings(children, now, Ladders(), classes)
    keys = [child.pk for child in children]
    readings = dict(Standing.objects.filter(child__in=keys).values_list("child", "reading"))
    seen = _seen(keys)
    found = []
    for child in children:
        first, last = seen.get(child.pk, (None, None))
        facts = standings[child.pk].facts
        in_reach = facts.state == CLOSED and facts.score is not None
        found.append(
            Pupil(
                child,
                classes[child.pk],
                _opened(readings[child.pk], first),
                facts.stage,
                facts.holding if in_reach else "",
                first,
                last,
            )
        )
    return found


def _opened(
    reading: Mapping[str, Any], first: datetime.date | None
) -> dict[str, tuple[datetime.date, str]]:
    """Whole stages; one that was open from the start is so from the first day here."""
    opened = {}
    for stage in reading["stages"]:
        if stage["open_since"] is not None:
            since, how = datetime.date.fromisoformat(stage["open_since"]), stage["opened_by"]
            if how == "start" and first is not None:
                since = first
            opened[str(stage["stage"])] = since, how
    return opened


def _seen(keys: Sequence[int]) -> dict[int, tuple[datetime.date, datetime.date]]:
    """By child the first and the last day with a turn, or there without one."""
    records = list(records_of(keys))
    turns = DayTally.objects.filter(child__in=records).values_list(root_of("child"))
    there = Attendance.objects.filter(child__in=records, present=True)
    rows = [
        *turns.annotate(Min("day"), Max("day")),
        *there.values_list(root_of("child")).annotate(Min("meeting__date"), Max("meeting__date")),
    ]
    seen: dict[int, tuple[datetime.date, datetime.date]] = {}
    for child, first, last in rows:
        known = seen.get(child, (first, last))
        seen[child] = min(first, known[0]), max(last, known[1])
    return seen


# --- what is counted -------------------------------------------------------------------


def by_stage(some: Sequence[Pupil], days: Sequence[datetime.date]) -> dict[str, list[int]]:
    """By stage how many children had it as their highest on each day; stages that nobody had are
    left out."""
    counts = [Counter(pupil.stage_on(day) for pupil in some) for day in days]
    stages = sorted({code for each in counts for code in each if code is not None}, key=int)
    return {code: [each[code] for each in counts] for code in stages}


def stays_in(stage: str, some: Sequence[Pupil], ladder: Ladder) -> list[Stay]:
    """Until a stage opened that needs it. A stay that a placing began is left out: nobody knows
    how long the child could do it already; one that a placing ended is lost from sight then."""
    later = [each.code for each in ladder.stages if stage in each.needs and each.part_of is None]
    stays = []
    for pupil in some:
        if stage not in pupil.opened or pupil.first is None:
            continue
        since, how = pupil.opened[stage]
        if how == "placing":
            continue
        following = min(
            (pupil.opened[code] for code in later if code in pupil.opened), default=None
        )
        if following is None:
            gone = pupil.child.left_on
            stays.append(Stay(since, None, max(since, gone) if gone else None))
        elif following[1] == "placing":
            stays.append(Stay(since, None, max(since, following[0])))
        else:
            stays.append(Stay(since, max(since, following[0])))
    return stays


def times(some: Sequence[Pupil], ladder: Ladder, today: datetime.date) -> dict[str, TimeInStage]:
    """By stage, of those that another stage needs."""
    needed = {code for s in ladder.stages if s.part_of is None for code in s.needs}
    whole = [each.code for each in ladder.stages if each.part_of is None and each.code in needed]
    return {code: time_in_stage(stays_in(code, some, ladder), today) for code in whole}


@dataclass(frozen=True)
class Holding:
    """A gate that holds children now; weeks: how long the middle one of them has had the stage in
    reach."""

    gate: str
    stage: str
    children: int
    weeks: int


def holding(some: Sequence[Pupil], ladder: Ladder, today: datetime.date) -> list[Holding]:
    """The gates that hold most first."""
    waits: dict[tuple[str, str], list[int]] = defaultdict(list)
    for pupil in some:
        if pupil.held_by and pupil.child.left_on is None:
            since = in_reach_since(pupil, ladder)
            waits[pupil.held_by, pupil.stage_ahead].append(
                (today - since).days // 7 if since else 0
            )
    found = [
        Holding(gate, stage, len(weeks), sorted(weeks)[(len(weeks) - 1) // 2])
        for (gate, stage), weeks in waits.items()
    ]
    return sorted(found, key=lambda each: (-each.children, each.stage, each.gate))


def in_reach_since(pupil: Pupil, ladder: Ladder) -> datetime.date | None:
    """Since the last of the stages that it needs has been open."""
    needs = ladder.stage[pupil.stage_ahead].needs
    days = [pupil.opened[code][0] for code in needs if code in pupil.opened]
    return max(days, default=pupil.first)


def unseen(some: Sequence[Pupil], today: datetime.date) -> list[Pupil]:
    """Who has not been seen for three weeks, or never; by name."""
    here = [pupil for pupil in some if pupil.child.left_on is None]
    return [pupil for pupil in here if pupil.last is None or today - pupil.last > UNSEEN_AFTER]


def turns_by_strand(
    some: Sequence[Pupil], ladders: Ladders, mondays: Sequence[datetime.date]
) -> dict[str, list[int]]:
    """By strand how many turns were done in each week, which begins on a Monday."""
    strands = {drill: about["strand"] for drill, about in ladders.newest.drills.items()}
    rows = DayTally.objects.filter(
        child__in=list(records_of([pupil.child.pk for pupil in some])),
        day__gte=mondays[0],
        day__lt=mondays[-1] + WEEK,
    )
    turns: Counter[tuple[str, datetime.date]] = Counter()
    for drill, day, count in rows.values_list("drill__key", "day").annotate(Sum("turns")):
        if drill in strands:
            turns[strands[drill], day - datetime.timedelta(days=day.weekday())] += count
    found = {strand for strand, _monday in turns}
    return {
        strand: [turns[strand, monday] for monday in mondays]
        for strand in ladders.newest.strand_names
        if strand in found
    }
