"""What was planned for an evening and what was done, by the log."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from progression.models import Attempt
from readiness.models import StationPlan
from readiness.stations.evening.set_up import drill_of
from readiness.stations.taken import NEAR, Taken, plan_of, taken_of
from studio.models import Meeting
from studio.people.records import records_of, root_of

# A station that was planned in so many evenings running and not done comes first.
LEFT_OUT = 2

# A child and a drill.
Place = tuple[int, str]


@dataclass(frozen=True)
class Compared:
    """Of one child, by drill in the order of the plan: turns logged at it, 0 for none; beside: at
    drills that were not planned. here: whether anything was logged of the child that evening."""

    child: int
    planned: dict[str, int]
    beside: dict[str, int]

    @property
    def here(self) -> bool:
        return bool(self.beside) or any(self.planned.values())


def compare(meeting: Meeting, taken: Taken) -> list[Compared]:
    """Of every child of the plan; by a number of queries that does not grow with them."""
    done = _turns(meeting, {each.child for each in taken.plan.at})
    planned: dict[int, list[str]] = {}
    for each in sorted(taken.plan.at, key=lambda each: each.rotation):
        planned.setdefault(each.child, []).append(drill_of(each.station)[0])
    return [
        Compared(
            child,
            {drill: done[child, drill] for drill in drills},
            {key: n for (who, key), n in done.items() if who == child and key not in drills},
        )
        for child, drills in planned.items()
    ]


def left_out(meeting: Meeting) -> set[Place]:
    """What was planned on each of the class's last two evenings that had a plan, lately, and not
    done on either, by children who were there."""
    rows = StationPlan.objects.filter(
        meeting__group=meeting.group_id,
        meeting__date__range=(meeting.date - NEAR, meeting.date),
        meeting__cancelled=False,
    ).exclude(meeting=meeting)
    last: dict[int, StationPlan] = {}
    for row in rows.select_related("meeting").order_by("meeting__date", "at", "pk"):
        last.pop(row.meeting_id, None)
        last[row.meeting_id] = row
    evenings = list(last.values())[-LEFT_OUT:]
    if len(evenings) < LEFT_OUT:
        return set()
    return set.intersection(*(_not_done(row) for row in evenings))


def _not_done(row: StationPlan) -> set[Place]:
    compared = compare(row.meeting, Taken(row, plan_of(row)))
    return {
        (each.child, drill)
        for each in compared
        if each.here
        for drill, turns in each.planned.items()
        if not turns
    }


def _turns(meeting: Meeting, children: Collection[int]) -> Counter[Place]:
    """Unstruck turns of the evening, by the index of children and days."""
    records = list(records_of(list(children)))
    rows = Attempt.objects.filter(child__in=records, day=meeting.date, meeting=meeting).unstruck()
    return Counter(rows.values_list(root_of("child"), "drill__key"))


def evening_of(meeting: Meeting) -> tuple[Taken, list[Compared]] | None:
    """None: no plan was taken."""
    taken = taken_of(meeting)
    return (taken, compare(meeting, taken)) if taken else None


def counts(compared: Iterable[Compared]) -> tuple[int, int]:
    """How many of the places planned for children who were there were done, and of how many."""
    turns = [n for each in compared if each.here for n in each.planned.values()]
    return sum(n > 0 for n in turns), len(turns)
