"""The quiet child: who of a class has had fewest turns with a coach's hands in four weeks."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from readiness.engine.levels import Support
from readiness.models import DayTally
from studio.models import Child
from studio.people.consents import YES, answer_on, consents_of
from studio.people.records import records_of, root_of

FOUR_WEEKS = datetime.timedelta(days=28)
# So many are named, of those who were there on so many days (practice).
MOST_NAMED, LEAST_DAYS = 3, 2


@dataclass(frozen=True)
class Quiet:
    """``held``: turns with light touch or more, on ``days`` days with turns."""

    child: Child
    held: int
    days: int


def quiet_children(children: Sequence[Child], today: datetime.date) -> list[Quiet]:
    """Fewest held turns first, by name where they are equal. Whoever may not be held is not named,
    nor is anybody where all were held equally often."""
    answers = consents_of(children)
    may = [child for child in children if answer_on(answers[child.pk], today) == YES]
    counts = _counts(may, today)
    found = [Quiet(child, *counts.get(child.pk, (0, 0))) for child in may]
    there = [each for each in found if each.days >= LEAST_DAYS]
    most = max((each.held for each in there), default=0)
    fewer = [each for each in there if each.held < most]
    return sorted(fewer, key=lambda each: each.held)[:MOST_NAMED]


def _counts(children: Sequence[Child], today: datetime.date) -> dict[int, tuple[int, int]]:
    """By child how many turns were held, and on how many days there were any turns."""
    records = list(records_of([child.pk for child in children]))
    rows = DayTally.objects.filter(
        child__in=records, day__gt=today - FOUR_WEEKS, day__lte=today
    ).values_list(root_of("child"))
    held = Sum("turns", filter=Q(support__gte=Support.LIGHT_TOUCH), default=0)
    counted = rows.annotate(held=held, days=Count("day", distinct=True))
    return {child: (turns, days) for child, turns, days in counted}
