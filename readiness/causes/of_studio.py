"""What the page of all classes' causes shows. Shared: used by the map of faults."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.db.models import Sum

from readiness.causes.words import handspring_text, roots_text
from readiness.engine.causes.roots import WITHIN_DAYS, by_times
from readiness.models import FaultTally
from readiness.record.ladders import Ladders, NamedLadder
from readiness.words.causes import OF_TURNS_SEEN
from studio import access
from studio.models import ClassGroup, Staff
from studio.people.records import records_of, root_of
from studio.people.today import site_today
from studio.people.told_apart import name_classes

# Common practice, no source: nine in ten faulty handsprings come from these two.
USUAL_ROOTS = ("sit", "support")
HANDSPRING = "handspring"


@dataclass(frozen=True)
class ClassRow:
    """Faults seen over the term, and their roots."""

    group: ClassGroup
    seen: int
    roots: str


def studio_context(staff: Staff, now: datetime.datetime) -> dict[str, Any]:
    """Every class that this person sees; a fixed number of queries."""
    today = site_today(now)
    ladder = Ladders().named_on(today)
    groups = list(access.visible_classes(staff).select_related("location").order_by("name", "pk"))
    name_classes(groups)
    members = access.visible_children(staff, today).filter(classes__in=groups)
    of_class: dict[int, set[int]] = defaultdict(set)
    for group, child in members.values_list("classes", "pk"):
        of_class[group].add(child)
    faults = faults_of({child for own in of_class.values() for child in own}, today)
    return {
        "rows": [_class_row(group, of_class[group.pk], faults, ladder) for group in groups],
        "practice": OF_TURNS_SEEN,
        "handspring": handspring_text(*_at_the_handspring(faults, ladder)),
    }


def handspring_sentence(staff: Staff, today: datetime.date, ladder: NamedLadder) -> str:
    """Of the children whom this person sees: where the faults marked at the handspring point."""
    children = access.visible_children(staff, today).values_list("pk", flat=True)
    return handspring_text(*_at_the_handspring(faults_of(list(children), today), ladder))


# By child, drill and fault.
Faults = Counter[tuple[int, str, str]]


def faults_of(children: Collection[int], today: datetime.date) -> Faults:
    """How often each fault was seen in twelve weeks; one query, by fault_tally_once."""
    first = today - datetime.timedelta(days=WITHIN_DAYS - 1)
    rows = FaultTally.objects.filter(child__in=list(records_of(children)), day__gte=first)
    summed = rows.values_list(root_of("child"), "drill__key", "fault").annotate(Sum("count"))
    found: Faults = Counter()
    for child, drill, fault, times in summed:
        found[child, drill, fault] += times
    return found


def _class_row(
    group: ClassGroup, children: Collection[int], faults: Faults, ladder: NamedLadder
) -> ClassRow:
    by_root: Counter[str] = Counter()
    for (child, _drill, fault), times in faults.items():
        if child in children and fault in ladder.faults:
            by_root[ladder.faults[fault]["root"]] += times
    return ClassRow(group, by_root.total(), roots_text(ladder, by_times(by_root)))


def _at_the_handspring(faults: Faults, ladder: NamedLadder) -> tuple[int, int]:
    """Faults marked at the handspring itself, and those of the two roots of common practice."""
    by_root: Counter[str] = Counter()
    for (_child, drill, fault), times in faults.items():
        if drill == HANDSPRING and fault in ladder.faults:
            by_root[ladder.faults[fault]["root"]] += times
    return by_root.total(), sum(by_root[root] for root in USUAL_ROOTS)
