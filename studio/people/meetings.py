"""Which classes meet on a day, and who may see a meeting. Shared: used by the floor."""

import datetime
import uuid
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from studio import access
from studio.db.prepared import prepared
from studio.models import ClassGroup, Meeting, Staff
from studio.people.class_lists import class_of, columns, with_hall


def meeting_on(group: ClassGroup, day: datetime.date) -> Meeting:
    """The class's meeting on a day, created with the class's own staff if there is none yet."""
    with transaction.atomic():
        meeting, created = Meeting.objects.get_or_create(
            group=group, date=day, starts_at=group.starts_at
        )
        if created:
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
        visible = Meeting.from_db("default", _OF_MEETING, row[: len(_OF_MEETING)])
        visible.group = class_of(row[len(_OF_MEETING) :])
        return visible
    return None


@prepared
def _visible_meeting(staff: int, meeting: uuid.UUID, *, role: Staff.Role) -> QuerySet[Any, Any]:
    meetings = access.visible_meetings(Staff(pk=staff, role=role)).filter(uuid=meeting)
    return meetings.values_list(*_OF_MEETING, *with_hall("group"))


_OF_MEETING = columns(Meeting)
