"""After a restore: what was made after the backup comes back with the tablets' lines.

A child who is missing comes back without a name or a birth, in the class that the tablet knew,
until the desk says who it is; a class without its hall comes back in a hall of its own.
"""

import datetime
import logging
import uuid

from django.db import transaction
from django.utils.translation import gettext as _

from readiness.record.restored.origin import Origin, hall_key
from studio.models import (
    Child,
    ClassGroup,
    ClassListChange,
    Location,
    Meeting,
    Restore,
    Staff,
    Studio,
)
from studio.people.names import fold_name

log = logging.getLogger("ladder.restored")


def bring_back(origin: Origin) -> uuid.UUID:
    """Make what is missing of a class; the id of the meeting to which its lines belong.

    Only what was made between a backup and its restore can be missing: by any other origin nothing
    is made.
    """
    lost = Restore.objects.filter(made_at__lt=origin.made, at__gte=origin.made)
    if not lost.exists():
        return origin.meeting
    with transaction.atomic():
        # Two tablets that bring the same class make it once.
        Studio.objects.select_for_update().get()
        group = ClassGroup.objects.filter(uuid=origin.group).first() or _class(origin)
        meeting = _meeting(origin, group)
        # Who has left it since the meeting stays out; a turn of that day is taken all the same.
        left = set(
            ClassListChange.objects.filter(group=group, joins=False).values_list("child", flat=True)
        )
        group.children.add(*(child for child in _children(origin) if child.pk not in left))
    return meeting.uuid


def _class(origin: Origin) -> ClassGroup:
    hall = _hall(origin)
    taken = set(ClassGroup.objects.filter(location=hall).values_list("name", flat=True))
    names = (_("To be sorted %(n)d") % {"n": n} for n in range(1, len(taken) + 2))
    group = ClassGroup.objects.create(
        uuid=origin.group,
        name=next(name for name in names if name not in taken),
        location=hall,
        weekday=origin.weekday,
        starts_at=origin.class_starts,
        minutes=origin.minutes,
        to_be_sorted=True,
    )
    group.staff.set(Staff.objects.filter(uuid__in=origin.staff))
    log.info("class brought back group=%s", group.uuid)
    return group


def _hall(origin: Origin) -> Location:
    """The class's own; or, if it is not here, one for what is to be sorted, of every director."""
    for hall in Location.objects.order_by("pk"):
        if hall_key(hall) == origin.hall:
            return hall
    hall, created = Location.objects.get_or_create(
        name=_("To be sorted"), defaults={"zone": origin.zone}
    )
    if created:
        hall.staff.set(Staff.objects.filter(role=Staff.Role.DIRECTOR, guest_on=None))
    return hall


def _meeting(origin: Origin, group: ClassGroup) -> Meeting:
    """The meeting; or the one that was opened anew meanwhile for the same time."""
    found = Meeting.objects.filter(uuid=origin.meeting).first()
    if found is not None:
        return found
    meeting, created = Meeting.objects.get_or_create(
        group=group,
        date=origin.date,
        starts_at=origin.starts,
        defaults={
            "uuid": origin.meeting,
            "planned_date": origin.date,
            "planned_start": origin.starts,
        },
    )
    if created:
        # Who is not of the class itself stands in.
        there = Staff.objects.filter(uuid__in=origin.staff)
        meeting.staff.set(there.exclude(classes=group))
        log.info("meeting brought back meeting=%s", meeting.uuid)
    return meeting


def _children(origin: Origin) -> list[Child]:
    here = {child.uuid: child for child in Child.objects.filter(uuid__in=origin.children)}
    for missing in sorted(set(origin.children) - here.keys()):
        name = _("Child not known (%(id)s)") % {"id": str(missing)[-4:]}
        here[missing] = Child.objects.create(uuid=missing, name=name, name_key=fold_name(name))
        log.info("child brought back child=%s", missing)
    return list(here.values())


def note_lost(now: datetime.datetime, newest: datetime.datetime | None) -> None:
    """The log turned out to lack what a tablet was told that it has: a restore that nobody told
    this program of. ``newest``: when the last line that is here was received."""
    early = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
    Restore.objects.create(made_at=newest or early, at=now)
