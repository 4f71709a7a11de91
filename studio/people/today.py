"""Which day it is, for a child and for a request that is about no hall; a hall's own is
``Location.day_of``.

Shared: used by every room.
"""

import datetime
import zoneinfo
from collections.abc import Sequence

from django.conf import settings
from django.utils import timezone

from studio.models import Child
from studio.people.class_lists import Classes, classes_of


def site_today(now: datetime.datetime) -> datetime.date:
    """The day of a request that is about no hall, in the site's own zone."""
    return timezone.localdate(now)


def local_today(
    children: Sequence[Child], now: datetime.datetime, classes: Classes | None = None
) -> dict[int, datetime.date]:
    """Today's date for each child, in the zone of the hall of their first class; the site's for
    a child with none.

    ``classes``: the children's classes with their halls, if somebody has them already.
    """
    classes = classes or classes_of(children)
    halls = {group.location for groups in classes.values() for group in groups[:1]}
    days = {hall: hall.day_of(now) for hall in halls}
    firsts = {child.pk: classes[child.pk][:1] for child in children}
    return {
        pk: days[first[0].location] if first else site_today(now) for pk, first in firsts.items()
    }


def zone_of(child: Child) -> zoneinfo.ZoneInfo:
    """The zone of the hall that decides this child's days; the site's with no class."""
    groups = classes_of([child])[child.pk]
    return zoneinfo.ZoneInfo(groups[0].location.zone if groups else settings.TIME_ZONE)
