"""Lines of the floor that are no turns, stored: who is here, what hurts, what is gone, what
the family was told, no hands."""

import datetime
from collections.abc import Mapping, Sequence

from django.db.models import Model

from progression.log.lines import Gone, Growing, Here, Hurt, Line, Report, SaidNoHands, Told
from readiness import models
from readiness.models import FamilyTold, NoHands, Pain, PainGone
from studio.models import Attendance, Meeting

# For each report its table, and the columns that it has of its own.
TABLES: Mapping[type[Report], tuple[type[Model], tuple[str, ...]]] = {
    Hurt: (Pain, ("place",)),
    Gone: (PainGone, ("place",)),
    Growing: (models.Growing, ()),
    Told: (FamilyTold, ("what", "whom")),
    SaidNoHands: (NoHands, ()),
}


def store_floor_lines(lines: Sequence[Line], meeting: Meeting, now: datetime.datetime) -> None:
    """Store what is no turn; the caller has made sure that the ids are new."""
    _store_attendance([line for line in lines if isinstance(line, Here)], meeting)
    for kind, (table, own) in TABLES.items():
        reports = [line for line in lines if type(line) is kind]
        table._default_manager.bulk_create(
            [
                table(
                    id=report.id,
                    child=report.child,
                    meeting=meeting,
                    day=meeting.date,
                    at=report.at,
                    by=report.by,
                    received_at=now,
                    digest=report.digest,
                    **{column: getattr(report, column) for column in own},
                )
                for report in reports
            ]
        )


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
