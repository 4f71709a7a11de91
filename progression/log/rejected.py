"""Lines that could not be taken: kept for somebody to look at, within limits, for a while.

A line that is not kept any more was never acknowledged: it stays on its tablet, as refused.
Shared: used by the door for turns.
"""

import datetime
import json
import logging
from collections.abc import Mapping, Sequence

from django.db.models import Count, Q

from progression.log.lines import digest_of, printable
from progression.models import RejectedLine
from studio.models import Meeting, Staff

log = logging.getLogger("ladder.intake")

# So much of a line is kept; its digest is that of the whole.
MOST_LETTERS = 8 * 1024
# So many of one tablet within a day, and of one sender, whatever the tablets call themselves.
MOST_A_DAY, MOST_OF_A_SENDER = 500, 2_000
DAY = datetime.timedelta(days=1)
# Without a word from anybody they are kept so long.
KEPT_DAYS = 90


def store_rejected(
    rejected: Sequence[tuple[object, str, str]],
    meeting: Meeting | None,
    sender: Staff,
    device: str,
    now: datetime.datetime,
) -> None:
    """Store (line, answer, code); the same line sent again is stored once."""
    if not rejected:
        return
    room = _room(sender, device, now)
    if len(rejected) > room:
        log.warning("refused lines sender=%s not kept=%d", sender.uuid, len(rejected) - room)
    RejectedLine.objects.bulk_create(
        [
            RejectedLine(
                line_id=_printable_id(raw),
                meeting=meeting,
                sender=sender,
                device=device,
                received_at=now,
                answer=answer,
                code=code,
                body=json.dumps(raw)[:MOST_LETTERS],
                digest=digest_of(raw),
            )
            for raw, answer, code in rejected[:room]
        ],
        ignore_conflicts=True,
    )


def purge(now: datetime.datetime, days: int = KEPT_DAYS) -> int:
    """Delete those that came more than so many days ago; how many there were."""
    return RejectedLine.objects.filter(received_at__lt=now - days * DAY).delete()[0]


def _room(sender: Staff, device: str, now: datetime.datetime) -> int:
    """How many more are kept today."""
    today = RejectedLine.objects.filter(sender=sender, received_at__gt=now - DAY)
    kept = today.aggregate(all=Count("pk"), here=Count("pk", filter=Q(device=device)))
    return max(0, min(MOST_A_DAY - kept["here"], MOST_OF_A_SENDER - kept["all"]))


def _printable_id(raw: object) -> str:
    return printable(raw.get("id", ""), 60) if isinstance(raw, Mapping) else ""
