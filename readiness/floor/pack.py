"""The pack: everything the floor page shows of one meeting, as JSON.

It is put together from the readings and the day's log and decides nothing itself: pack_ladder.py
has what it says of the ladder, pack_children.py of each child. Codes are
the ladder's own; the few sentences in it come from readiness/words/. What it says of a child
(pack_part.py) is stored with the child's standing until something of that child changes.
"""

import datetime
import threading
import uuid
from collections.abc import Sequence
from typing import Any

from django.db.models import Q, QuerySet
from django.db.models.functions import Coalesce

from progression.log.lines import LESS_CODES, SCHEMA, STRIKE_CODES, WHOM_CODES
from readiness.floor.before_class import under_headings, with_caution
from readiness.floor.pack_children import children_of
from readiness.floor.pack_ladder import faults_seen, ladder_fields, used_last
from readiness.floor.pack_part import Part, as_json, make_part, part_for
from readiness.models import FamilyTold
from readiness.record.ladders import Ladders
from readiness.record.log_epoch import log_epoch
from readiness.record.restored.origin import make_origin
from readiness.record.standings import fresh_packs
from studio.access import may_grade
from studio.db.prepared import prepared
from studio.halls.emergency import emergency_of
from studio.models import Attendance, Child, Meeting, Staff
from studio.people.children import cautions_of
from studio.people.records import root_of
from studio.people.told_apart import name_classes, tell_apart

# Packs are made one after the other in a process, so that a turn waits for one of them at most.
MAKING = threading.Lock()

Data = dict[str, Any]
Parts = dict[int, Part]


def build_pack(
    meeting: Meeting, staff: Staff, now: datetime.datetime, tablet: Data | None = None
) -> str:
    """The pack of a meeting for one member of staff, as JSON. Queries do not grow with the class.

    tablet: what the view adds about the tablet.
    """
    children = children_of(meeting)
    ladders = Ladders()
    ladder = ladders.named_on(meeting.date)
    parts = _parts(children, meeting, staff, ladders)
    cautions = cautions_of(children)
    adults = [adult for (adult,) in _adults_at(meeting.pk, meeting.group_id)]
    pack = {
        "v": SCHEMA,
        "log": str(log_epoch("", None, now)),
        "now": now.isoformat(),
        "day": meeting.date.isoformat(),
        "ladder": ladder.number,
        "meeting": _meeting_fields(meeting, len(adults)),
        "origin": make_origin(meeting, [child.uuid for child in children], adults, now),
        "me": {"id": str(staff.uuid), "name": staff.called, "grades": may_grade(staff)},
        **ladder_fields(ladder, faults_seen(children, meeting.date)),
        **used_last([parts[child.pk].last for child in children]),
        "strikes": STRIKE_CODES,
        "less": LESS_CODES,
        "whom": WHOM_CODES,
        "told": [_told(*row) for row in _told_at(meeting.pk)],
        "before": under_headings(
            (child.uuid, with_caution(cautions[child.pk], parts[child.pk].before))
            for child in children
        ),
        **(tablet or {}),
    }
    present = _present_at(meeting)
    texts = (
        _joined(
            {"present": present.get(child.pk), "caution": cautions[child.pk]}, parts[child.pk].text
        )
        for child in children
    )
    return _joined(pack, f'{{"children":[{",".join(texts)}]}}')


def _joined(data: Data, text: str) -> str:
    """One JSON object of some data and of another object that is text already."""
    return f"{as_json(data)[:-1]},{text[1:]}"


def _parts(children: Sequence[Child], meeting: Meeting, staff: Staff, ladders: Ladders) -> Parts:
    with MAKING:
        stored = fresh_packs(children, meeting.date, ladders, make_part)
    names = tell_apart(children)
    return {pk: part_for(text, names[pk], staff, meeting) for pk, text in stored.items()}


# --- the meeting ---------------------------------------------------------------------


def _present_at(meeting: Meeting) -> dict[int, bool]:
    """By child; the latest statement counts."""
    return dict(_attendance(meeting.pk))


@prepared
def _attendance(meeting: int) -> QuerySet[Any, Any]:
    statements = Attendance.objects.filter(meeting=meeting).order_by("at", "pk")
    return statements.values_list(root_of("child"), "present")


def _told(id_: uuid.UUID, child: uuid.UUID, what: str, whom: str, at: datetime.datetime) -> Data:
    about = {"id": str(id_), "child": str(child)}
    return about | {"what": what, "whom": whom, "at": at.isoformat()}


# Of the record that stands for the child.
_CHILD_ID = Coalesce("child__merged_into__uuid", "child__uuid")


@prepared
def _told_at(meeting: int) -> QuerySet[Any, Any]:
    """What families were told, of this class and this evening."""
    rows = FamilyTold.objects.filter(meeting=meeting).order_by("at", "pk")
    return rows.values_list("id", _CHILD_ID, "what", "whom", "at")


def _meeting_fields(meeting: Meeting, adults: int) -> Data:
    group, location = meeting.group, meeting.group.location
    call = emergency_of(location)
    name_classes([group])
    return {
        "id": str(meeting.uuid),
        "group": group.shown,
        "date": meeting.date.isoformat(),
        "starts_at": f"{meeting.starts_at:%H:%M}",
        # From then on a tablet keeps the pack no longer.
        "over_at": location.end_of(meeting.date).isoformat(),
        "location": location.name,
        "address": call.address,
        "emergency": call.number,
        "emergency_confirmed": call.confirmed,
        "card": call.card,
        "adults": adults,
    }


@prepared
def _adults_at(meeting: int, group: int) -> QuerySet[Any, Any]:
    """The class's own staff, and who stands in."""
    of_class = Staff.classes.through.objects.filter(classgroup=group).values("staff")
    stand_ins = Staff.meetings.through.objects.filter(meeting=meeting).values("staff")
    return Staff.objects.filter(Q(pk__in=of_class) | Q(pk__in=stand_ins)).values_list("uuid")
