"""What people decided about a child and a letter may tell: by whom, on which evening."""

import datetime
from dataclasses import dataclass

from readiness.models import Decision, Placing
from studio.models import Child


@dataclass(frozen=True)
class Signed:
    """A director's signature. surface: the key of the floor it was given for."""

    stage: str
    surface: str
    day: datetime.date
    director: str


@dataclass(frozen=True)
class Placed:
    stage: str
    day: datetime.date
    director: str


def signatures(child: Child) -> tuple[Signed, ...]:
    """In the order in which they were given."""
    rows = Decision.objects.filter(child__in=child.records, kind=Decision.Kind.SIGN).order_by(
        "at", "pk"
    )
    return tuple(
        Signed(row.stage, row.surface.key, row.day, row.by.called)
        for row in rows.select_related("surface", "by")
        if row.surface
    )


def last_placing(child: Child) -> Placed | None:
    rows = Placing.objects.filter(child__in=child.records).select_related("by").order_by("at", "pk")
    last = rows.last()
    return Placed(str(last.stage), last.day, last.by.called) if last else None
