"""The classes of children. Shared: used by the review and by standings."""

from collections.abc import Iterable

from studio.models import Child, ClassGroup

# By the children's keys; each child's in the order of their keys.
Classes = dict[int, list[ClassGroup]]


def classes_of(children: Iterable[Child]) -> Classes:
    """The classes of each child, with their halls, in one query; an empty list for none."""
    classes: Classes = {child.pk: [] for child in children}
    memberships = Child.classes.through.objects.filter(child__in=list(classes))
    groups = memberships.order_by("classgroup").select_related("classgroup__location")
    for membership in groups:
        classes[membership.child_id].append(membership.classgroup)
    return classes
