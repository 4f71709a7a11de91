"""Which child a request is about, and that child's record as it is now.

Shared: used by the child's page, the evidence page, letters and merging.
"""

import datetime
import uuid

from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from readiness.record.standings import Reading, read
from readiness.words.names import Names
from studio import access
from studio.models import Child
from studio.people.records import roots_of
from studio.people.today import local_today, site_today


def visible_child(request: HttpRequest, child: uuid.UUID, now: datetime.datetime) -> Child:
    """A child that this member of staff may see; 404 for any other. The id of a merged record
    leads to the one that stands for it."""
    children = access.visible_children(access.staff_of(request), site_today(now))
    result: Child = get_object_or_404(children, pk__in=roots_of(Child.objects.filter(uuid=child)))
    return result


def child_on_record(request: HttpRequest, child: uuid.UUID, now: datetime.datetime) -> Child:
    """The same, and children who left the classes of this member of staff: what happened to them
    stays readable."""
    children = access.children_in_lists(access.staff_of(request), site_today(now))
    result: Child = get_object_or_404(children, pk__in=roots_of(Child.objects.filter(uuid=child)))
    return result


def read_now(child: Child, now: datetime.datetime) -> Reading:
    return read(child, local_today([child], now)[child.pk])


def names_of(reading: Reading) -> Names:
    return Names(reading.child.called, reading.ladder, reading.read.day)
