"""What coaches took back of what a director should know: what hurt, a fall, a child who was caught,
an absence. It stays readable; here it is said."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import CharField, OuterRef, QuerySet, Subquery, Value
from django.utils.translation import gettext as _

from progression.models import Attempt, Strike
from readiness.models import Fell, Pain
from readiness.record.ladders import NamedLadder
from readiness.words.names import Names
from readiness.words.pauses import pain_text
from studio.models import Attendance, Child, Staff
from studio.people.records import root_of


@dataclass(frozen=True)
class TakenBack:
    child: Child
    day: datetime.date
    what: str
    by: str


def taken_back(
    children: Mapping[int, Child],
    records: Sequence[int],
    named: NamedLadder,
    since: datetime.date,
) -> list[TakenBack]:
    """Since that day, the newest first."""
    rows = sorted(_struck(records, since), reverse=True)
    people = Staff.objects.in_bulk({by for *_rest, by in rows})
    found = []
    for day, child, kind, place, by in rows:
        names = Names(children[child].called, named, day)
        texts = {
            "caught": _("Caught by the spotter"),
            "away": _("Not here"),
            "fell": _("A fall"),
        }
        what = texts.get(kind) or pain_text(names, place)
        found.append(TakenBack(children[child], day, what, people[by].called))
    return found


def _struck(records: Sequence[int], since: datetime.date) -> QuerySet[Any, Any]:
    by = Subquery(Strike.objects.filter(attempt_id=OuterRef("pk")).values("by")[:1])
    first, *others = (
        rows.filter(child__in=records)
        .annotate(struck_by=by)
        .exclude(struck_by=None)
        .values_list(day, root_of("child"), Value(kind, CharField()), place, "struck_by")
        for kind, rows, day, place in (
            ("hurt", Pain.objects.filter(day__gte=since), "day", "place"),
            (
                "caught",
                Attempt.objects.filter(day__gte=since, caught=True),
                "day",
                Value("", CharField()),
            ),
            ("fell", Fell.objects.filter(day__gte=since), "day", Value("", CharField())),
            (
                "away",
                Attendance.objects.filter(meeting__date__gte=since, present=False),
                "meeting__date",
                Value("", CharField()),
            ),
        )
    )
    return first.union(*others, all=True)
