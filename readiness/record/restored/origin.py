"""What a tablet keeps of a class beside its lines: enough to make the class again, signed by this
server, with ids and no names.

It goes out with each pack and comes back only where the server was restored from a backup that is
older than it.
Shared: made by the floor, read where lines come in.
"""

import datetime
import hashlib
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core import signing

from studio.models import Location, Meeting

SALT = "floor-origin"


@dataclass(frozen=True)
class Origin:
    """A class and one of its meetings as they were when ``made``, each with its public id.

    ``hall`` is what ``hall_key`` says of it; ``zone`` its time zone. ``class_starts`` and
    ``weekday`` are the class's own, ``date`` and ``starts`` the meeting's.
    """

    made: datetime.datetime
    group: uuid.UUID
    hall: str
    zone: str
    weekday: int
    class_starts: datetime.time
    minutes: int
    meeting: uuid.UUID
    date: datetime.date
    starts: datetime.time
    children: tuple[uuid.UUID, ...]
    staff: tuple[uuid.UUID, ...]


class NotOurs(Exception):
    """Not signed with this server's key: of another server, or of this one before it had a new
    key; or no origin at all."""


def hall_key(hall: Location) -> str:
    """Says whether a hall is still the one it was: its number, and a digest of its name."""
    return f"{hall.pk}-{hashlib.sha256(hall.name.encode()).hexdigest()[:16]}"


def make_origin(
    meeting: Meeting,
    children: Iterable[uuid.UUID],
    staff: Iterable[uuid.UUID],
    now: datetime.datetime,
) -> str:
    group = meeting.group
    data = {
        "made": now.isoformat(),
        "group": str(group.uuid),
        "hall": hall_key(group.location),
        "zone": group.location.zone,
        "weekday": group.weekday,
        "class_starts": group.starts_at.isoformat(),
        "minutes": group.minutes,
        "meeting": str(meeting.uuid),
        "date": meeting.date.isoformat(),
        "starts": meeting.starts_at.isoformat(),
        "children": [str(each) for each in children],
        "staff": [str(each) for each in staff],
    }
    return signing.dumps(data, salt=SALT, compress=True)


def read_origin(text: str) -> Origin:
    """Raises NotOurs unless this server signed it."""
    try:
        data: dict[str, Any] = signing.loads(text, salt=SALT)
    except (signing.BadSignature, ValueError) as error:
        raise NotOurs from error
    return Origin(
        made=datetime.datetime.fromisoformat(data["made"]),
        group=uuid.UUID(data["group"]),
        hall=data["hall"],
        zone=data["zone"],
        weekday=data["weekday"],
        class_starts=datetime.time.fromisoformat(data["class_starts"]),
        minutes=data["minutes"],
        meeting=uuid.UUID(data["meeting"]),
        date=datetime.date.fromisoformat(data["date"]),
        starts=datetime.time.fromisoformat(data["starts"]),
        children=tuple(map(uuid.UUID, data["children"])),
        staff=tuple(map(uuid.UUID, data["staff"])),
    )
