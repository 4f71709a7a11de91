"""Which rotation of its stations a class is in, by what was tapped on the floor.

Shared: used by the door for turns, by the floor's pack and by the wall view of the stations.
"""

import datetime
from collections.abc import Sequence

from progression.log.lines import Line, Rotation
from readiness.models import RotationBegun
from studio.models import Meeting


def store_rotations(lines: Sequence[Line], meeting: Meeting, now: datetime.datetime) -> None:
    RotationBegun.objects.bulk_create(
        [
            RotationBegun(
                id=line.id,
                meeting=meeting,
                number=line.number,
                at=line.at,
                by=line.by,
                received_at=now,
                digest=line.digest,
            )
            for line in lines
            if isinstance(line, Rotation)
        ]
    )


def rotation_begun(meeting: Meeting) -> RotationBegun | None:
    """The latest; None: none yet."""
    return RotationBegun.objects.filter(meeting=meeting).order_by("at", "pk").last()
