"""Which classes meet on a day, and who is there."""

import datetime
from collections.abc import Iterable

from django.db import transaction

from studio.models import ClassGroup, Meeting


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
