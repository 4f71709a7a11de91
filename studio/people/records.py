"""The records of a child: one, or several that were merged (merging.py).

A child is named by the record that stands for it; what stands under the others is the child's too.
Shared: used by class lists, consents, access and the record.
"""

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from django.db.models import F, Q, QuerySet
from django.db.models.functions import Coalesce

from studio.db.prepared import prepared
from studio.models import Child, Merge


def root_of(prefix: str = "") -> Coalesce:
    """In a query: the record that stands for a row's child. ``prefix``: of rows that have a child,
    such as "child"."""
    if not prefix:
        return Coalesce(F("merged_into_id"), F("pk"))
    return Coalesce(F(f"{prefix}__merged_into_id"), F(f"{prefix}_id"))


def roots_of(records: "QuerySet[Child, Any] | Iterable[int]") -> "QuerySet[Child, Any]":
    """The keys of the records that stand for these, for ``pk__in`` or ``child__in``."""
    found = records if isinstance(records, QuerySet) else Child.objects.filter(pk__in=records)
    return found.values(root=root_of())


def all_records(children: "QuerySet[Child, Any] | Collection[int]") -> "QuerySet[Child, Any]":
    """The keys of all records of these children, for ``child__in``."""
    return Child.objects.filter(Q(pk__in=children) | Q(merged_into__in=children)).values("pk")


def records_of(children: Collection[int]) -> dict[int, int]:
    """Each record of these children, with the child whose it is; by one query."""
    return {child: child for child in children} | dict(_merged_into(list(children)))


@prepared
def _merged_into(children: Sequence[int]) -> "QuerySet[Any, Any]":
    return Child.objects.filter(merged_into__in=children).values_list("pk", "merged_into_id")


def of_several(records: Mapping[int, int]) -> dict[int, list[int]]:
    """The children who have several records, with these; from what ``records_of`` says."""
    found: dict[int, list[int]] = defaultdict(list)
    for record, child in records.items():
        found[child].append(record)
    return {child: each for child, each in found.items() if len(each) > 1}


class Merged(NamedTuple):
    """A merge that is in force."""

    loser: int
    survivor: int
    at: datetime.datetime


def merges_of(records: Collection[int]) -> list[Merged]:
    """The merges in force of these records."""
    rows = Merge.objects.filter(undone_at=None, loser__in=records).order_by("at", "pk")
    return [Merged(*row) for row in rows.values_list("loser_id", "survivor_id", "at")]


def together_at(
    moment: datetime.datetime, record: int, records: Iterable[int], merges: Iterable[Merged]
) -> frozenset[int]:
    """Those of a child's records that stood for one child with ``record`` at that moment: what was
    said of one then was said of them all."""
    into = {merge.loser: merge.survivor for merge in merges if merge.at <= moment}

    def root(each: int) -> int:
        while each in into:
            each = into[each]
        return each

    return frozenset(each for each in records if root(each) == root(record))
