"""A file saved from a tablet's outbox, brought in at a desk: the tablet has no network, or no
way to this server, or whoever tapped the lines is gone.

Its lines go through the one door like those of a floor call, by the same rules: what is here
already is had, what cannot be taken is set aside in full, and the same file once more changes
nothing. Nothing leaves the tablet by it: it goes on sending, and is told that its lines are had.
"""

import datetime
import json
import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from progression.log.line_refusals import FARTHEST_OFFSET
from progression.log.lines import SCHEMA
from progression.models import Attempt
from readiness.record.intake import ACCEPTED, CONFLICT, DUPLICATE, REFUSED, take_lines
from readiness.record.restored.arrivals import meeting_or_brought_back, set_aside
from studio.models import Meeting, Staff

LONGEST_DEVICE = 60
# So many lines go into one transaction.
AT_ONCE = 200


class OutboxFileError(Exception):
    """The file cannot be read; ``str()`` says what is wrong and where. Nothing was taken."""


@dataclass(frozen=True)
class SavedLine:
    """One line as a tablet saved it, with its meeting and whose line it is."""

    meeting: uuid.UUID
    author: str
    line: dict[str, Any]
    # Its key and signature, as the file has them.
    signed: object = None


@dataclass(frozen=True)
class OutboxFile:
    """``offset``: what must be added to the tablet's clock to get the server's, as it was
    measured last; nothing if it never was."""

    v: int
    device: str
    offset: datetime.timedelta
    records: tuple[SavedLine, ...]
    # What the tablet keeps of each class, by meeting: it is made again after a restore.
    origins: Mapping[uuid.UUID, str] = field(default_factory=dict)


@dataclass(frozen=True)
class MeetingTaken:
    """What became of the lines of one meeting; ``aside`` counts them by reason."""

    meeting: str
    kept: int
    had: int
    aside: dict[str, int]


@dataclass(frozen=True)
class FileTaken:
    """``elsewhere``: lines of meetings that whoever brings the file may not see; not taken.
    ``other_server``: lines of a class that another server made; set aside in full."""

    meetings: tuple[MeetingTaken, ...]
    elsewhere: int
    other_server: int = 0

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def read_outbox_file(data: bytes) -> OutboxFile:
    """What the file holds. Raises OutboxFileError unless every record of it can be read."""
    content = _json_of(data)
    if not isinstance(content, dict) or not isinstance(content.get("records"), list):
        raise OutboxFileError(_("This file was not saved from a tablet: it has no entries."))
    v, device, offset = content.get("v"), content.get("device"), content.get("offset", 0)
    if type(v) is not int or v < 1:
        raise OutboxFileError(_("This file was not saved from a tablet: it names no version."))
    if v > SCHEMA:
        raise OutboxFileError(
            _("This file comes from a page that is newer than this server. Renew the server first.")
        )
    if not isinstance(device, str) or not 0 < len(device) <= LONGEST_DEVICE:
        raise OutboxFileError(_("This file does not say which tablet it comes from."))
    if type(offset) is not int or abs(offset) > FARTHEST_OFFSET:
        raise OutboxFileError(
            _("The file does not say properly how far the tablet's clock is out.")
        )
    if not content["records"]:
        raise OutboxFileError(_("There is no entry in this file."))
    records = tuple(_record(raw, n) for n, raw in enumerate(content["records"], start=1))
    return OutboxFile(
        v, device, datetime.timedelta(milliseconds=offset), records, _origins(content)
    )


def take_outbox_file(
    file: OutboxFile, meetings: QuerySet[Meeting], sender: Staff, now: datetime.datetime
) -> FileTaken:
    """Take the lines of those meetings that ``sender`` may see, in the order of the file."""
    by_meeting: dict[uuid.UUID, list[SavedLine]] = defaultdict(list)
    for record in file.records:
        by_meeting[record.meeting].append(record)
    other_server = 0
    for meeting in file.origins.keys() & by_meeting.keys():
        records = by_meeting.pop(meeting)
        found, ours = meeting_or_brought_back(sender, meeting, file.origins[meeting], now)
        if found is None and not ours:
            set_aside([record.line for record in records], sender, file.device, now)
            other_server += len(records)
        else:
            by_meeting[found.uuid if found else meeting] += records
    visible = meetings.filter(uuid__in=by_meeting).select_related("group__location")
    taken = [
        _take(meeting, by_meeting.pop(meeting.uuid), file, sender, now)
        for meeting in visible.order_by("date", "starts_at", "pk")
    ]
    elsewhere = sum(len(records) for records in by_meeting.values())
    return FileTaken(tuple(taken), elsewhere, other_server)


def _take(
    meeting: Meeting,
    records: Sequence[SavedLine],
    file: OutboxFile,
    sender: Staff,
    now: datetime.datetime,
) -> MeetingTaken:
    by_author: dict[str, list[dict[str, Any]]] = defaultdict(list)
    signed = {record.line["id"]: record.signed for record in records}
    for record in records:
        by_author[record.author].append(record.line)
    answers: Counter[str] = Counter()
    aside: Counter[str] = Counter()
    for author, lines in by_author.items():
        for start in range(0, len(lines), AT_ONCE):
            part = lines[start : start + AT_ONCE]
            # As if it were sent at this moment by a tablet whose clock is out by that much.
            sent_at = now - file.offset
            for result in take_lines(
                meeting,
                sender,
                file.device,
                sent_at,
                part,
                file.v,
                now,
                author=author,
                signed=signed,
                source=Attempt.Source.FILE,
            ):
                answers[result.answer] += 1
                if result.answer in (REFUSED, CONFLICT):
                    aside[result.code] += 1
    return MeetingTaken(str(meeting.uuid), answers[ACCEPTED], answers[DUPLICATE], dict(aside))


def _json_of(data: bytes) -> object:
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise OutboxFileError(
            _(
                "This is not a file saved from a tablet, or it is cut off: line %(line)d, "
                "letter %(column)d cannot be read."
            )
            % {"line": error.lineno, "column": error.colno}
        ) from None
    except (ValueError, RecursionError):
        raise OutboxFileError(_("This is not a file saved from a tablet.")) from None


def _refuse_constant(name: str) -> None:
    """NaN and Infinity are not JSON (RFC 8259, section 6), and no database keeps them."""
    raise ValueError(name)


def _record(raw: object, n: int) -> SavedLine:
    if not isinstance(raw, dict):
        raise OutboxFileError(_("Entry %(n)d is no entry of a tablet.") % {"n": n})
    line = raw.get("line")
    if not isinstance(line, dict) or not isinstance(line.get("id"), str):
        raise OutboxFileError(_("Entry %(n)d has no line in it.") % {"n": n})
    meeting, author = _uuid(raw.get("meeting")), _uuid(raw.get("author"))
    if meeting is None:
        raise OutboxFileError(_("Entry %(n)d does not say of which class it is.") % {"n": n})
    if author is None:
        raise OutboxFileError(_("Entry %(n)d does not say who tapped it.") % {"n": n})
    return SavedLine(meeting, str(author), line, raw.get("signed"))


def _origins(content: Mapping[str, object]) -> dict[uuid.UUID, str]:
    """An entry that cannot be read is no use, and no harm."""
    found = content.get("origins")
    entries = found.items() if isinstance(found, dict) else ()
    read = {_uuid(meeting): origin for meeting, origin in entries if isinstance(origin, str)}
    return {meeting: origin for meeting, origin in read.items() if meeting is not None}


def _uuid(value: object) -> uuid.UUID | None:
    try:
        return uuid.UUID(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, AttributeError):
        return None
