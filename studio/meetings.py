"""Which classes meet on a day, and who is there."""

import datetime

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
