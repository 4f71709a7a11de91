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
from studio.models import Meeting, Staff
from studio.people.meetings import meeting_for
from studio.people.today import site_today

OTHER_SERVER = "other-server"


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


def set_aside(
    lines: Sequence[Mapping[str, object]], sender: Staff, device: str, now: datetime.datetime
) -> list[LineAnswer]:
    """Keep lines of another server's class in full, as refused: nobody here can tell whose they
    are."""
    store_rejected([(line, REFUSED, OTHER_SERVER) for line in lines], None, sender, device, now)
    return [LineAnswer(str(line["id"]), REFUSED, OTHER_SERVER) for line in lines]
