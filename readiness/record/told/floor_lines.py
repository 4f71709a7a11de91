"""Lines of the floor that are no turns, stored: who is here, who fell, what hurts, what is
gone, what the family was told, no hands, the class is over, what is said of the hall, which
rotation began."""

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Model

from progression.log import lines as read
from progression.log.lines import Here, Line, Report
from readiness.models import ClassOver, Fell, Growing, HeadKnock, NoHands, Pain, PainGone, Told
from readiness.record.told.hall import store_hall_reports
from readiness.record.told.rotations import store_rotations
from studio.models import Attendance, Meeting

# The place that hurts after a knock on the head.
HEAD = "head"
# For each report its table, and the columns that it has of its own.
TABLES: Mapping[type[Report], tuple[type[Model], tuple[str, ...]]] = {
    read.Hurt: (Pain, ("place",)),
    read.Gone: (PainGone, ("place",)),
    read.Growing: (Growing, ()),
    read.Told: (Told, ("about", "whom")),
    read.Fell: (Fell, ()),
    read.SaidNoHands: (NoHands, ()),
}


def store_floor_lines(lines: Sequence[Line], meeting: Meeting, now: datetime.datetime) -> None:
    """Store what is no turn; the caller has made sure that the ids are new."""
    _store_attendance([line for line in lines if isinstance(line, Here)], meeting)
    _store_class_over([line for line in lines if isinstance(line, read.ClassOver)], meeting, now)
    store_hall_reports(lines, meeting, now)
    store_rotations(lines, meeting, now)
    for kind, (table, own) in TABLES.items():
        table._default_manager.bulk_create(
            table(
                **_columns(report, meeting, now),
                **{column: getattr(report, column) for column in own},
            )
            for report in lines
            if type(report) is kind
        )
    # The way back after it begins; what takes the pain back takes the knock back.
    HeadKnock.objects.bulk_create(
        HeadKnock(**_columns(line, meeting, now), on=meeting.date)
        for line in lines
        if isinstance(line, read.Hurt) and line.place == HEAD
    )


def _columns(report: Report, meeting: Meeting, now: datetime.datetime) -> dict[str, Any]:
    """What every report has."""
    return {
        "id": report.id,
        "child": report.child,
        "meeting": meeting,
        "day": meeting.date,
        "at": report.at,
        "by": report.by,
        "received_at": now,
        "digest": report.digest,
    }


def _store_attendance(statements: Sequence[Here], meeting: Meeting) -> None:
    Attendance.objects.bulk_create(
        [
            Attendance(
                id=here.id,
                meeting=meeting,
                child=here.child,
                present=here.present,
                at=here.at,
                by=here.by,
                digest=here.digest,
            )
            for here in statements
        ]
    )


def _store_class_over(
    said: Sequence[read.ClassOver], meeting: Meeting, now: datetime.datetime
) -> None:
    ClassOver.objects.bulk_create(
        [
            ClassOver(
                id=line.id,
                meeting=meeting,
                at=line.at,
                by=line.by,
                received_at=now,
                digest=line.digest,
            )
            for line in said
        ]
    )
