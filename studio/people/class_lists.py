"""The classes of children, on a day too, and coming into one or leaving it.

Shared: used by the review, the floor and standings.
"""

import datetime
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from django.db.models.lookups import Exact

from studio.models import Child, ClassGroup, ClassListChange, MeetingVisit
from studio.people.records import all_records, root_of, roots_of

# By the children's keys; each child's in the order of their keys.
Classes = dict[int, list[ClassGroup]]


def classes_of(children: Iterable[Child]) -> Classes:
    """The classes of each child, with their halls, in one query; an empty list for none."""
    classes: Classes = {child.pk: [] for child in children}
    memberships = Child.classes.through.objects.filter(child__in=all_records(list(classes)))
    groups = memberships.order_by("classgroup").select_related("classgroup__location", "child")
    for membership in groups:
        root = membership.child.root
        own = classes[root if root in classes else membership.child_id]
        # Two records of one child may both be in a class.
        if membership.classgroup not in own[-1:]:
            own.append(membership.classgroup)
    return classes


def in_class(group: int) -> QuerySet[Any, Any]:
    """The keys of the children of a class, for ``pk__in``."""
    members = Child.classes.through.objects.filter(classgroup=group)
    return members.values(root=root_of("child"))


def in_hall(location: int) -> QuerySet[Any, Any]:
    """The same of a hall's classes."""
    members = Child.classes.through.objects.filter(classgroup__location=location)
    return members.values(root=root_of("child"))


def join(child: Child, group: ClassGroup, day: datetime.date) -> None:
    """The child belongs to the class from a day on. Twice is once."""
    with transaction.atomic():
        if not group.children.filter(pk__in=child.records).exists():
            group.children.add(child)
            ClassListChange.objects.create(group=group, child=child, day=day, joins=True)


def leave(child: Child, group: ClassGroup, day: datetime.date) -> bool:
    """The child belongs to the class no longer from a day on; False if it did not before."""
    with transaction.atomic():
        there = list(group.children.filter(pk__in=child.records))
        for record in there:
            group.children.remove(record)
            ClassListChange.objects.create(group=group, child=record, day=day, joins=False)
        return bool(there)


def belonged(group: int, day: datetime.date) -> Q:
    """Of children: those of the class on a day, and its visitors. The first change after it says
    what was before."""
    changes = ClassListChange.objects.filter(group=group, child=OuterRef("pk"), day__gt=day)
    first_joins = Subquery(changes.order_by("day", "pk").values("joins")[:1])
    now = Child.classes.through.objects.filter(classgroup=group).values("child")
    then = Q(Exact(first_joins, False)) | Q(pk__in=now) & ~Q(Exists(changes))
    of_class = Q(pk__in=roots_of(Child.objects.filter(then)))
    return of_class | Q(pk__in=_visitors(group, day))


def belonged_or_belongs(group: int, day: datetime.date, since: datetime.date) -> Q:
    """Those of the class after the day ``since``, or now, and the visitors of ``day``: a turn of
    each is taken. A tablet may not have heard yet that a child has moved to another class."""
    left = ClassListChange.objects.filter(group=group, joins=False, day__gt=since)
    of_class = Q(pk__in=in_class(group)) | Q(pk__in=left.values(root=root_of("child")))
    return of_class | Q(pk__in=_visitors(group, day))


def record_belongs(group: int, day: datetime.date, since: datetime.date) -> Q:
    """The same of records, each by itself."""
    left = ClassListChange.objects.filter(group=group, joins=False, day__gt=since).values("child")
    now = Child.classes.through.objects.filter(classgroup=group).values("child")
    visits = _visits(group, day).values("child")
    return Q(pk__in=now) | Q(pk__in=left) | Q(pk__in=visits)


def _visitors(group: int, day: datetime.date) -> QuerySet[Any, Any]:
    return _visits(group, day).values(root=root_of("child"))


def _visits(group: int, day: datetime.date) -> QuerySet[MeetingVisit]:
    return MeetingVisit.objects.filter(meeting__group=group, meeting__date=day)
