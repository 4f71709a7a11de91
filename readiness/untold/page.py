"""Whom a director calls: a head or a neck hurt, and nobody of the family was told of it."""

import datetime
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, QuerySet

from progression.models import Strike
from readiness.models import Pain, Told
from readiness.record.ladders import NamedLadder
from studio.models import Child, Contact
from studio.people.children import families_of
from studio.people.records import all_records, root_of
from studio.people.told_apart import full_names

# So long somebody is still called.
LOOKED_BACK = datetime.timedelta(days=7)


@dataclass(frozen=True)
class Untold:
    """Of one child; ``call``: of the family who may be told, first those who are to be called."""

    child: Child
    name: str
    place: str
    day: datetime.date
    by: str
    call: list[Contact]


def untold_of(
    children: "QuerySet[Child]", ladder: NamedLadder, today: datetime.date
) -> list[Untold]:
    """The latest first. Of places that pause a child at once: the others wait for the door."""
    pausing = [pain["place"] for pain in ladder.content["pain"] if pain["pause"]]
    told = Told.objects.annotate(root=root_of("child")).filter(
        root=OuterRef("root"), about=OuterRef("place"), day__gte=OuterRef("day")
    )
    pains = (
        Pain.objects.annotate(root=root_of("child"))
        .filter(child__in=all_records(children), day__gte=today - LOOKED_BACK, place__in=pausing)
        .exclude(Exists(told))
        .exclude(Exists(Strike.objects.filter(attempt_id=OuterRef("pk"))))
        .select_related("by", "child__merged_into")
        .order_by("-at", "-pk")
    )
    found = [(pain, pain.child.merged_into or pain.child) for pain in pains]
    children_found = list({child.pk: child for _pain, child in found}.values())
    families, names = families_of(children_found), full_names(children_found)
    return [
        Untold(
            child=child,
            name=names[child.pk],
            place=ladder.pain_names[pain.place],
            day=pain.day,
            by=pain.by.called,
            call=sorted(
                (each for each in families[child.pk] if each.phone and not each.not_told),
                key=lambda each: not each.to_call,
            ),
        )
        for pain, child in found
    ]
