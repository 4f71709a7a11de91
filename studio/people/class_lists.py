"""Children with their classes and halls, in one query, with one object for each of them.

Shared: used by the review and by standings.
"""

from collections.abc import Iterable
from typing import Any

from django.db.models import Model, QuerySet

from studio.db.prepared import Row
from studio.models import Child, ClassGroup, Location


def columns(model: type[Model]) -> list[str]:
    return [field.attname for field in model._meta.concrete_fields]


OF_CHILD, OF_GROUP, OF_HALL = columns(Child), columns(ClassGroup), columns(Location)

# By the children's keys; each child's in the order of their keys.
Classes = dict[int, list[ClassGroup]]


def with_hall(group: str) -> list[str]:
    """The columns along the path ``group`` that ``class_of`` needs."""
    of_hall = [f"{group}__location__{name}" for name in OF_HALL]
    return [*(f"{group}__{name}" for name in OF_GROUP), *of_hall]


def class_of(row: Row) -> ClassGroup:
    """The class of such a row, with its hall."""
    group = ClassGroup.from_db("default", OF_GROUP, row[: len(OF_GROUP)])
    group.location = Location.from_db("default", OF_HALL, row[len(OF_GROUP) :])
    return group


def child_rows(children: "QuerySet[Child]") -> "QuerySet[Any, Any]":
    """The rows for ``from_rows``. ``children`` may be filtered by class only through a subquery:
    the rows have all their classes."""
    by_name = children.order_by("name", "pk", "classes")
    return by_name.values_list(*OF_CHILD, *with_hall("classes"))


def from_rows(rows: Iterable[Row]) -> tuple[list[Child], Classes]:
    """The children of such rows, by name, and the classes of each."""
    rows, children = list(rows), dict[int, Child]()
    for row in rows:
        if row[0] not in children:
            children[row[0]] = Child.from_db("default", OF_CHILD, row[: len(OF_CHILD)])
    return list(children.values()), _by_child(children, rows, len(OF_CHILD))


def classes_of(children: Iterable[Child]) -> Classes:
    """The classes of each child; an empty list for none."""
    ids = [child.pk for child in children]
    rows = Child.classes.through.objects.filter(child__in=ids).order_by("classgroup")
    return _by_child(ids, rows.values_list("child_id", *with_hall("classgroup")), 1)


def _by_child(children: Iterable[int], rows: Iterable[Row], at: int) -> Classes:
    """Of rows that begin with a child's key; ``at``: where a class begins in them, whose columns
    are empty for no class."""
    classes: Classes = {child: [] for child in children}
    groups: dict[int, ClassGroup] = {}
    for row in rows:
        group = row[at]
        if group is None:
            continue
        if group not in groups:
            groups[group] = class_of(row[at:])
        classes[row[0]].append(groups[group])
    return classes
