"""The counter by which the other tablets of a class hear at once: a stop sign, pain, a pause, and
what takes one of them back; a spotter who is gone, a mat that is broken; a rotation that began,
stations that were taken."""

import datetime
from collections.abc import Iterable, Sequence

from django.db.models import F, Q

from progression.log.lines import Hurt, Line, NewStrike, NewTurn, Rotation
from readiness.engine.tallies import stop_sign_ids
from readiness.models import Pain
from readiness.record.day_tallies import DayTurns, Touched
from readiness.record.ladders import Ladders
from readiness.record.told.hall import alert_of_hall
from studio.models import Child, ClassGroup, Meeting, MeetingVisit


def stop_signs(turns_of: DayTurns, touched: Iterable[Touched], ladders: Ladders) -> set[str]:
    """The ids of the stop signs of some children's days."""
    return {
        id_ for key in touched for id_ in stop_sign_ids(turns_of[key], ladders.on(key[2]).stops)
    }


def alert_of(lines: Sequence[Line], meeting: Meeting, stopped: set[str]) -> None:
    """Move the counter if one of the lines is for everybody now. ``stopped``: the stop signs of
    the days that the lines touched, before anything was struck."""
    alert_of_hall(lines, meeting)
    turns = {line.id for line in lines if isinstance(line, NewTurn)}
    taken_back = {line.attempt_id for line in lines if isinstance(line, NewStrike)}
    news = any(isinstance(line, Hurt | Rotation) for line in lines)
    # Strikes are rare: turns ask nothing here.
    news = news or bool(taken_back and Pain.objects.filter(pk__in=taken_back).exists())
    if news or stopped & {str(id_) for id_ in turns | taken_back}:
        alert_class(meeting)


def alert_class(meeting: Meeting) -> None:
    Meeting.objects.filter(pk=meeting.pk).update(alerts=F("alerts") + 1)


def alert_classes_of(child: Child, day: datetime.date) -> None:
    """Move the counters of the classes at which the child may be on a day: it was paused, or a
    pause was lifted."""
    own = Q(group__in=ClassGroup.objects.filter(children__in=child.records))
    visited = Q(pk__in=MeetingVisit.objects.filter(child__in=child.records).values("meeting"))
    Meeting.objects.filter(own | visited, date=day).update(alerts=F("alerts") + 1)
