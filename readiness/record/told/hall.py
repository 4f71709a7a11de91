"""What was said of the hall: the spotter is gone or back, of one class; mats looked at; a mat is
broken or mended, of every class in the hall that evening.

Shared: used by the door for turns, by the floor's pack, by the review and by the stations.
"""

import datetime
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import F, Q, QuerySet

from progression.log.lines import MAT_CODES, SPOTTER_CODES, Line, OfHall
from readiness.models import HallReport
from studio.models import Meeting


def store_hall_reports(lines: Sequence[Line], meeting: Meeting, now: datetime.datetime) -> None:
    HallReport.objects.bulk_create(
        [
            HallReport(
                id=line.id,
                meeting=meeting,
                kind=line.what,
                surface=line.surface,
                at=line.at,
                by=line.by,
                received_at=now,
                digest=line.digest,
            )
            for line in lines
            if isinstance(line, OfHall)
        ]
    )


def reports_for(meeting: Meeting) -> QuerySet[HallReport]:
    """Those that this class must know of, oldest first."""
    of_mats = Q(kind__in=MAT_CODES, meeting__in=in_the_hall(meeting))
    reports = HallReport.objects.filter(Q(meeting=meeting) | of_mats)
    return reports.select_related("by").order_by("at", "pk")


def alert_of_hall(lines: Sequence[Line], meeting: Meeting) -> None:
    """Move the counters of the classes that must hear of it at once."""
    said: set[Any] = {line.what for line in lines if isinstance(line, OfHall)}
    if said & {*MAT_CODES}:
        in_the_hall(meeting).update(alerts=F("alerts") + 1)
    elif said & {*SPOTTER_CODES}:
        Meeting.objects.filter(pk=meeting.pk).update(alerts=F("alerts") + 1)


class SpottersGone:
    """From when to when the spotter of a class was gone, by what was said there; of all classes
    from a day on. Asked when turns are read: either may come in after the other."""

    def __init__(self, since: datetime.date) -> None:
        said = HallReport.objects.filter(kind__in=SPOTTER_CODES, meeting__date__gte=since)
        self._said: dict[int, list[tuple[datetime.datetime, str]]] = defaultdict(list)
        for meeting, at, kind in said.order_by("at", "pk").values_list("meeting", "at", "kind"):
            self._said[meeting].append((at, kind))

    @property
    def meetings(self) -> list[int]:
        return list(self._said)

    def at(self, meeting: int | None, moment: datetime.datetime) -> bool:
        """Whether the spotter was gone then: the latest that was said before counts."""
        before = [kind for at, kind in self._said.get(meeting or 0, ()) if at <= moment]
        return before[-1:] == [HallReport.Kind.SPOTTER_GONE]


def in_the_hall(meeting: Meeting) -> QuerySet[Meeting]:
    """The classes in the same hall on the same day."""
    hall = meeting.hall
    there = Q(location=hall) | Q(location=None, group__location=hall)
    return Meeting.objects.filter(there, date=meeting.date)
