"""One evening of a class: moved, cancelled, with somebody who stands in, with a visitor; and the
holidays of a hall."""

import datetime
import logging
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import ManyToOneRel, QuerySet

from studio.access import visible_colleagues
from studio.as_seen import mark, refuse_if_changed
from studio.models import Child, ClassGroup, Holiday, Location, Meeting, MeetingVisit, Staff
from studio.people.class_dates import Evening, evenings
from studio.people.meetings import meeting_on

log = logging.getLogger("ladder.classes")


class NotChanged(Exception):
    """Nothing was stored. ``code``: held (something is written down of this evening), taken (the
    class meets then already), seen (something is written down of this visitor)."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def evening_on(group: ClassGroup, day: datetime.date) -> Evening | None:
    """The class's evening on a day; one that was moved away from it comes last."""
    found = sorted(evenings([group], day, day), key=lambda each: each.state == "moved")
    return found[0] if found else None


def evening_mark(evening: Evening) -> str:
    """Of what its forms were shown with."""
    return mark(*_facts(evening.meeting))


def _facts(meeting: Meeting | None) -> tuple[object, ...]:
    if meeting is None:
        return ()
    staff = meeting.staff.order_by("pk").values_list("pk", flat=True)
    moved = meeting.location_id or meeting.date != meeting.planned_date
    if not (meeting.cancelled or staff or moved) and meeting.starts_at == meeting.planned_start:
        return ()
    hall = [meeting.location_id] if meeting.location_id else []
    return meeting.date, meeting.starts_at, meeting.cancelled, list(staff), *hall


def _locked(evening: Evening, seen: str) -> Meeting:
    """Its row, made if there is none yet. Two desks that make it come one after the other."""
    group = ClassGroup.objects.select_for_update(no_key=True).get(pk=evening.group.pk)
    meeting = evening.meeting or meeting_on(group, evening.day)
    meeting = Meeting.objects.select_for_update(no_key=True).get(pk=meeting.pk)
    refuse_if_changed(seen, *_facts(meeting))
    return meeting


def _is_held(meeting: Meeting, **about: Child) -> bool:
    """Whether turns, attendance or anything else are written down of it, or of ``child`` there."""
    plan = {MeetingVisit, Meeting.staff.through}
    pointing = (
        field
        for field in Meeting._meta.get_fields(include_hidden=True)
        if isinstance(field, ManyToOneRel) and field.related_model not in plan
    )
    return any(
        field.related_model._base_manager.filter(**{field.field.name: meeting}, **about).exists()
        for field in pointing
        if about.keys() <= {each.name for each in field.related_model._meta.fields}
    )


def move_evening(evening: Evening, said: Mapping[str, Any], seen: str, by: Staff) -> None:
    """To the day, time and hall that are said. Raises ChangedMeanwhile and NotChanged."""
    try:
        with transaction.atomic():
            meeting = _locked(evening, seen)
            if _is_held(meeting):
                raise NotChanged("held")
            own_hall = said["location"] == evening.group.location
            meeting.date, meeting.starts_at, meeting.cancelled = (
                said["day"],
                said["starts_at"],
                False,
            )
            meeting.location = None if own_hall else said["location"]
            meeting.save(update_fields=["date", "starts_at", "cancelled", "location"])
    except IntegrityError:
        raise NotChanged("taken") from None
    log.info("evening moved meeting=%s by=%s", meeting.uuid, by.uuid)


def cancel_evening(evening: Evening, cancelled: bool, seen: str, by: Staff) -> None:
    """Or let it take place after all. Raises ChangedMeanwhile and NotChanged."""
    with transaction.atomic():
        meeting = _locked(evening, seen)
        if cancelled and _is_held(meeting):
            raise NotChanged("held")
        meeting.cancelled = cancelled
        meeting.save(update_fields=["cancelled"])
    log.info("evening cancelled=%s meeting=%s by=%s", cancelled, meeting.uuid, by.uuid)


def set_stand_ins(evening: Evening, staff: Iterable[Staff], seen: str, by: Staff) -> None:
    """Of one's colleagues exactly these. Raises ChangedMeanwhile."""
    with transaction.atomic():
        meeting = _locked(evening, seen)
        others = set(meeting.staff.all()) - set(visible_colleagues(by))
        meeting.staff.set(others | set(staff))
    log.info("stand-ins meeting=%s by=%s", meeting.uuid, by.uuid)


def add_visit(evening: Evening, child: Child, makes_up: bool, by: Staff) -> None:
    """The child is on the floor page of that evening. Twice is once."""
    with transaction.atomic():
        ClassGroup.objects.select_for_update(no_key=True).get(pk=evening.group.pk)
        meeting = evening.meeting or meeting_on(evening.group, evening.day)
        about = {"makes_up": makes_up, "by": by}
        MeetingVisit.objects.update_or_create(meeting=meeting, child=child, defaults=about)
    log.info("visit meeting=%s child=%s by=%s", meeting.uuid, child.uuid, by.uuid)


def visits_of(evening: Evening) -> QuerySet[MeetingVisit]:
    return MeetingVisit.objects.filter(meeting=evening.meeting).select_related("child")


def end_visit(visit: MeetingVisit, by: Staff) -> None:
    """The child is not on the floor page of that evening any more. Raises NotChanged."""
    with transaction.atomic():
        meeting = Meeting.objects.select_for_update(no_key=True).get(pk=visit.meeting_id)
        if _is_held(meeting, child=visit.child):
            raise NotChanged("seen")
        visit.delete()
    log.info("visit ended meeting=%s child=%s by=%s", meeting.uuid, visit.child.uuid, by.uuid)


def add_holiday(
    hall: Location, name: str, first: datetime.date, last: datetime.date, by: Staff
) -> None:
    Holiday.objects.create(location=hall, name=name, first_day=first, last_day=last)
    log.info("holiday hall=%s by=%s", hall.pk, by.uuid)


def end_holiday(holiday: Holiday, by: Staff) -> None:
    log.info("holiday taken away hall=%s by=%s", holiday.location_id, by.uuid)
    holiday.delete()
