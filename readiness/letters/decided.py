"""What people decided about a child and a letter may tell: by whom, on which evening."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.models import Decision, Placing
from studio.models import Child
from studio.people.records import all_records, root_of


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


def signatures(children: Sequence[Child]) -> dict[int, tuple[Signed, ...]]:
    """Of each child, in the order in which they were given."""
    found: dict[int, list[Signed]] = {child.pk: [] for child in children}
    rows = Decision.objects.filter(child__in=all_records(list(found)), kind=Decision.Kind.SIGN)
    rows = rows.order_by("at", "pk").annotate(root=root_of("child"))
    for row in rows.select_related("surface", "by"):
        if row.surface:
            signed = Signed(row.stage, row.surface.key, row.day, row.by.called)
            found[row.root].append(signed)
    return {child: tuple(signed) for child, signed in found.items()}


def last_placings(children: Sequence[Child]) -> dict[int, Placed]:
    """Of each child who was placed, the last."""
    rows = Placing.objects.filter(child__in=all_records([child.pk for child in children]))
    rows = rows.order_by("at", "pk").annotate(root=root_of("child")).select_related("by")
    return {row.root: Placed(str(row.stage), row.day, row.by.called) for row in rows}
