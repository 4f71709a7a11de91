"""Which classes meet on a day, and who may see a meeting. Shared: used by the floor."""

import datetime
import uuid
from typing import Any

from django.db.models import Q, QuerySet

from studio import access
from studio.db.prepared import prepared
from studio.models import ClassGroup, Location, Meeting, Staff


def meeting_on(group: ClassGroup, day: datetime.date) -> Meeting:
    """The class's meeting on a day, created if there is none yet. ``Meeting.staff`` are those who
    stand in; the class's own come with the class, and go with it."""
    here = Meeting.objects.filter(group=group, date=day)
    planned = here.filter(Q(planned_date=day) | Q(planned_date=None))
    # Also where it begins at another time than the class does by now.
    found = planned.order_by("cancelled", "starts_at", "pk").first()
    if found is not None:
        return found
    starts = group.starts_at
    meeting, _created = Meeting.objects.get_or_create(
        group=group,
        date=day,
        starts_at=starts,
        defaults={
            "uuid": new_meeting_id(group, day, starts),
            "planned_date": day,
            "planned_start": starts,
        },
    )
    return meeting


def new_meeting_id(group: ClassGroup, day: datetime.date, starts: datetime.time) -> uuid.UUID:
    """Made of the class and the time that was planned: a record that was restored gives the same
    meeting the same id. A second one planned for that time adds ":2"."""
    planned = Meeting.objects.filter(group=group, planned_date=day, planned_start=starts).count()
    name = f"{day.isoformat()} {starts:%H:%M}" + (f":{planned + 1}" if planned else "")
    return uuid.uuid5(group.uuid, name)


def meeting_for(staff: Staff, meeting: uuid.UUID, today: datetime.date) -> Meeting | None:
    """The meeting of this public id with its class and halls, if it is one that they may see."""
    since = access.stood_in_since(today)
    for row in _visible_meeting(staff.pk, meeting, since, role=access.acts_as(staff)):
        visible = Meeting.from_db("default", _MEETING, row[: len(_MEETING)])
        rest = row[len(_MEETING) :]
        visible.group = ClassGroup.from_db("default", _GROUP, rest[: len(_GROUP)])
        halls = rest[len(_GROUP) :]
        visible.group.location = Location.from_db("default", _HALL, halls[: len(_HALL)])
        if visible.location_id is not None:
            visible.location = Location.from_db("default", _HALL, halls[len(_HALL) :])
        return visible
    return None


@prepared
def _visible_meeting(
    staff: int, meeting: uuid.UUID, since: datetime.date, *, role: Staff.Role
) -> QuerySet[Any, Any]:
    meetings = access.meetings_since(Staff(pk=staff, role=role), since).filter(uuid=meeting)
    of_group = [f"group__{name}" for name in _GROUP]
    halls = [f"{hall}__{name}" for hall in ("group__location", "location") for name in _HALL]
    return meetings.values_list(*_MEETING, *of_group, *halls)


_MEETING, _GROUP, _HALL = (
    [field.attname for field in model._meta.concrete_fields]
    for model in (Meeting, ClassGroup, Location)
)
