"""Children's classes with their halls, in one question and with each class made once."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Model, QuerySet

from studio.models import Child, ClassGroup, Location
from studio.prepared import Row, prepared


def columns(model: type[Model]) -> list[str]:
    return [field.attname for field in model._meta.concrete_fields]


OF_GROUP, OF_HALL = columns(ClassGroup), columns(Location)


def with_hall(group: str) -> list[str]:
    """What to ask for, along the path ``group``, for ``class_of``."""
    of_hall = [f"{group}__location__{name}" for name in OF_HALL]
    return [*(f"{group}__{name}" for name in OF_GROUP), *of_hall]


def class_of(row: Row) -> ClassGroup:
    """The class of such a row, with its hall."""
    group = ClassGroup.from_db("default", OF_GROUP, row[: len(OF_GROUP)])
    group.location = Location.from_db("default", OF_HALL, row[len(OF_GROUP) :])
    return group


def classes_of(children: Iterable[Child]) -> dict[int, list[ClassGroup]]:
    """The classes of each child, in the order of their keys; an empty list for none."""
    ids = [child.pk for child in children]
    groups: dict[int, ClassGroup] = {}
    found: dict[int, list[ClassGroup]] = {child: [] for child in ids}
    for row in _classes_of(ids):
        child, group = row[:2]
        if group not in groups:
            groups[group] = class_of(row[1:])
        found[child].append(groups[group])
    return found


@prepared
def _classes_of(children: Sequence[int]) -> "QuerySet[Any, Any]":
    rows = Child.classes.through.objects.filter(child__in=children).order_by("classgroup")
    return rows.values_list("child_id", *with_hall("classgroup"))
