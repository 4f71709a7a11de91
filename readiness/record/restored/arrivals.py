"""Lines that come with what their tablet keeps of the class.

Shared: used by the floor's call and by a file from a tablet.
"""

import datetime
import uuid
from collections.abc import Mapping, Sequence

from progression.log.rejected import store_rejected
from readiness.record.intake import REFUSED, LineAnswer
from readiness.record.restored.bring_back import bring_back
from readiness.record.restored.origin import NotOurs, read_origin
from studio.access import may_sign_in
from studio.models import Meeting, Staff
from studio.people.meetings import meeting_for
from studio.people.today import site_today

OTHER_SERVER, NO_ACCESS = "other-server", "no-access"


def meeting_or_brought_back(
    staff: Staff, meeting: uuid.UUID, origin: str | None, now: datetime.datetime
) -> tuple[Meeting | None, bool]:
    """The meeting of these lines, if they may see it, made again if it was lost in a restore; and
    False if what the tablet keeps of it was not signed by this server."""
    ours = True
    if origin:
        try:
            read = read_origin(origin)
            if read.meeting == meeting:
                meeting = bring_back(read)
        except NotOurs:
            ours = False
    return meeting_for(staff, meeting, site_today(now)), ours


def class_lost(
    author: str, meeting: uuid.UUID, origin: str | None, now: datetime.datetime
) -> Meeting | None:
    """The meeting of lines whose author had the class when the tablet fetched it, by this server's
    own word, and may see it no longer. ``author``: a public id."""
    try:
        read = read_origin(origin or "")
    except NotOurs:
        return None
    if read.meeting != meeting or author not in map(str, read.staff):
        return None
    today = site_today(now)
    staff = Staff.objects.filter(uuid=author).first()
    if staff is None or (may_sign_in(staff, today) and meeting_for(staff, meeting, today)):
        return None
    return Meeting.objects.filter(uuid=meeting).first()


def set_aside(
    lines: Sequence[Mapping[str, object]],
    sender: Staff,
    device: str,
    now: datetime.datetime,
    lost: Meeting | None = None,
) -> list[LineAnswer]:
    """Keep lines in full, as refused, for a director: of a class that was ``lost`` to whoever
    tapped them, or of another server's class, whose they are nobody here can tell."""
    code = NO_ACCESS if lost else OTHER_SERVER
    store_rejected([(line, REFUSED, code) for line in lines], lost, sender, device, now)
    return [LineAnswer(str(line["id"]), REFUSED, code) for line in lines]
