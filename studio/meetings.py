"""Which classes meet on a day, and who is there."""

import datetime
import uuid
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet

from studio import access
from studio.models import ClassGroup, Location, Meeting, Staff
from studio.prepared import prepared


def meeting_on(group: ClassGroup, day: datetime.date) -> Meeting:
    """The class's meeting on a day, made with the class's own staff if there is none yet."""
    with transaction.atomic():
        meeting, made = Meeting.objects.get_or_create(
            group=group, date=day, starts_at=group.starts_at
        )
        if made:
            meeting.staff.set(group.staff.all())
    return meeting


def coming_days(weekdays: Iterable[int], today: datetime.date, most: int) -> list[datetime.date]:
    """Today and the next days on which a class of one of these weekdays meets, at most so many."""
    wanted = set(weekdays)
    later = (today + datetime.timedelta(days=ahead) for ahead in range(1, 7 * most))
    return [today, *(day for day in later if day.weekday() in wanted)][:most]


def meeting_for(staff: Staff, meeting: uuid.UUID) -> Meeting | None:
    """The meeting of this public id with its class and hall, if it is one that they may see."""
    for row in _visible_meeting(staff.pk, meeting, role=access.acts_as(staff)):
        of_group, of_hall = len(_OF_MEETING), len(_OF_MEETING) + len(_OF_GROUP)
        found = Meeting.from_db("default", _OF_MEETING, row[:of_group])
        found.group = ClassGroup.from_db("default", _OF_GROUP, row[of_group:of_hall])
        found.group.location = Location.from_db("default", _OF_HALL, row[of_hall:])
        return found
    return None


@prepared
def _visible_meeting(staff: int, meeting: uuid.UUID, *, role: Staff.Role) -> QuerySet[Any, Any]:
    seen = access.visible_meetings(Staff(pk=staff, role=role)).filter(uuid=meeting)
    in_group = [f"group__{name}" for name in _OF_GROUP]
    in_hall = [f"group__location__{name}" for name in _OF_HALL]
    return seen.values_list(*_OF_MEETING, *in_group, *in_hall)


def _columns(model: type[Model]) -> list[str]:
    return [field.attname for field in model._meta.concrete_fields]


_OF_MEETING, _OF_GROUP, _OF_HALL = (_columns(each) for each in (Meeting, ClassGroup, Location))
