"""A child who came to a class and is not on its list: found in the hall and let in for tonight."""

import datetime
import logging
import uuid
from typing import Any

from django.db.models import QuerySet

from studio import access
from studio.models import Child, Meeting, MeetingVisit, Staff
from studio.people.class_lists import belonged, classes_of
from studio.people.names import fold
from studio.people.told_apart import tell_apart

log = logging.getLogger("ladder.floor")

# Fewer letters are a part of every name.
FEWEST_LETTERS = 2
MOST_FOUND = 12


def found_in_hall(meeting: Meeting, words: str) -> list[dict[str, Any]]:
    """The hall's children with every word in their name who are not of this class tonight: name
    used, age and class alone."""
    parts = fold(words).split()
    if len("".join(parts)) < FEWEST_LETTERS:
        return []
    found = _of_hall(meeting)
    for part in parts:
        found = found.filter(search_key__contains=part)
    children = list(found.order_by("search_key", "pk")[:MOST_FOUND])
    names, classes = tell_apart(children), classes_of(children)
    return [
        {
            "id": str(child.uuid),
            "name": names[child.pk],
            "age": child.age_on(meeting.date),
            "group": ", ".join(group.name for group in classes[child.pk]),
        }
        for child in children
    ]


def let_in(meeting: Meeting, child: uuid.UUID, why: str, by: Staff) -> Child | None:
    """The child is on tonight's list; None if the hall has no such child. Twice is once."""
    found = _of_hall(meeting).filter(uuid=child).first()
    if found is not None:
        about = {"why": why, "makes_up": why == MeetingVisit.Why.MAKE_UP, "by": by}
        MeetingVisit.objects.update_or_create(meeting=meeting, child=found, defaults=about)
        log.info("let in meeting=%s child=%s by=%s why=%s", meeting.uuid, child, by.uuid, why)
    return found


def is_tonight(meeting: Meeting, now: datetime.datetime) -> bool:
    return meeting.date == meeting.hall.day_of(now)


def _of_hall(meeting: Meeting) -> QuerySet[Child]:
    hall = access.children_of_hall(meeting, meeting.date)
    return hall.exclude(belonged(meeting.group_id, meeting.date))
