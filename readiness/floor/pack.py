"""The pack: everything the floor page shows of one meeting, as JSON.

It is put together from the readings and the day's log and decides nothing itself: pack_ladder.py
has what it says of the ladder, pack_children.py of each child. Codes are
the ladder's own; the few sentences in it come from readiness/words/. What it says of a child
(pack_part.py) is stored with the child's standing until something of that child changes.
"""

import datetime
import threading
import uuid
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import CharField, Exists, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Coalesce
from django.urls import reverse

from progression.log.lines import LESS_CODES, SCHEMA, STRIKE_CODES, WHOM_CODES
from progression.models import LineResolution, Strike
from readiness.floor.before_class import under_headings, with_caution
from readiness.floor.pack_children import children_of
from readiness.floor.pack_ladder import faults_seen, ladder_fields, used_last
from readiness.floor.pack_part import Part, as_json, make_part, part_for
from readiness.models import ClassOver, Fell, HallReport, NotTonight, Pain, Told
from readiness.notes.keeping import ready_notes
from readiness.record.ladders import Ladders
from readiness.record.log_epoch import log_epoch
from readiness.record.restored.origin import make_origin
from readiness.record.standings import fresh_packs
from readiness.record.told.hall import reports_for
from readiness.record.told.side_readings import studio_spread
from readiness.spotters.tonight import Adult, is_small, spotters_tonight
from readiness.stations.for_the_floor import stations_for_floor
from studio.access import may_grade, may_report, may_write_notes
from studio.db.prepared import prepared
from studio.halls.emergency import emergency_of
from studio.models import Attendance, Child, Meeting, Staff
from studio.people.children import cautions_of
from studio.people.class_dates import evenings_today
from studio.people.records import root_of
from studio.people.told_apart import name_classes, tell_apart
from studio.pictures.allowed import halls_with_pictures, may_be_pictured

# Packs are made one after the other in a process, so that a turn waits for one of them at most.
MAKING = threading.Lock()

Data = dict[str, Any]
Parts = dict[int, Part]
NOT_TONIGHT = "not-tonight"
CODES = {"strikes": STRIKE_CODES, "less": LESS_CODES, "whom": WHOM_CODES}


def build_pack(
    meeting: Meeting, staff: Staff, now: datetime.datetime, tablet: Data | None = None
) -> str:
    """The pack of a meeting for one member of staff, as JSON. Queries do not grow with the class.
    tablet: what the view adds about the tablet."""
    children, ladders = children_of(meeting), Ladders()
    ladder = ladders.named_on(meeting.date)
    parts = _parts(children, meeting, staff, ladders)
    cautions = cautions_of(children)
    reports = _reports_of(meeting, [*parts])
    people = [Adult(*row) for row in _adults_at(meeting.pk, meeting.group_id)]
    adults = [adult.uuid for adult in people]
    pack = {
        "v": SCHEMA,
        "log": str(log_epoch("", None, now)),
        "now": now.isoformat(),
        "day": meeting.date.isoformat(),
        "ladder": ladder.number,
        # Read before all else: what comes in meanwhile is asked for again.
        "alerts": meeting.alerts,
        "meeting": _meeting_fields(meeting, len(adults)),
        "spotters": spotters_tonight(people, ladder, meeting.date),
        "origin": make_origin(meeting, [child.uuid for child in children], adults, now),
        "me": {"id": str(staff.uuid), "name": staff.called, "grades": may_grade(staff)},
        **ladder_fields(ladder, faults_seen(children, meeting.date)),
        **used_last([parts[child.pk].last for child in children]),
        **CODES,
        **_evening_fields(meeting, staff, reports, now),
        "stations": stations_for_floor(meeting, children, people),
        "before": under_headings(
            (child.uuid, with_caution(cautions[child.pk], parts[child.pk].before))
            for child in children
        ),
        "side_view": _side_view(meeting, staff, tablet or {}, now),
        **(tablet or {}),
    }
    present, happened = _present_at(meeting, staff), _happened(reports, staff)
    own = _own_data(children, present, happened, cautions, meeting.date)
    for child in may_be_pictured(children, meeting.date) if pack["side_view"] else ():
        own[child]["pictures"] = True
    for child in _said_not_tonight(children, reports, staff):
        own[child]["not_tonight"] = True
    texts = ",".join(_joined(data, parts[child].text) for child, data in own.items())
    return _joined(pack, f'{{"children":[{texts}]}}')


def _own_data(
    children: Sequence[Child],
    present: dict[int, Data],
    happened: dict[str, dict[str, list[Data]]],
    cautions: dict[int, str],
    day: datetime.date,
) -> dict[int, Data]:
    """What a pack says of each child tonight, beside the part that stands stored."""
    return {
        child.pk: present.get(child.pk, {"present": None})
        | {"caution": cautions[child.pk], **happened[str(child.uuid)]}
        | {"small": is_small(child, day)}
        for child in children
    }


def _joined(data: Data, text: str) -> str:
    """One JSON object of some data and of another object that is text already."""
    return f"{as_json(data)[:-1]},{text[1:]}"


def _parts(children: Sequence[Child], meeting: Meeting, staff: Staff, ladders: Ladders) -> Parts:
    with MAKING:
        stored = fresh_packs(children, meeting.date, ladders, make_part)
    names = tell_apart(children)
    return {pk: part_for(text, names[pk], staff, meeting) for pk, text in stored.items()}


# --- the meeting ---------------------------------------------------------------------


def _evening_fields(
    meeting: Meeting, staff: Staff, reports: Sequence[Any], now: datetime.datetime
) -> Data:
    return {
        "resolved": [line for (line,) in _resolved_at(meeting.pk)],
        "told": [_told(*row) for kind, _by, *row in reports if kind == "told"],
        "tonight": _tonight(meeting, staff, now),
        "class_over": _class_over(meeting),
        "hall": [_of_hall(report) for report in reports_for(meeting)],
        # Without it the page offers no notes.
        "ready_notes": ready_notes() if may_write_notes(staff) else None,
    }


def _side_view(meeting: Meeting, staff: Staff, tablet: Data, now: datetime.datetime) -> Data | None:
    """For who grades, on an enrolled tablet, in a hall where a director has turned it on."""
    if not tablet.get("tablet") or not may_grade(staff):
        return None
    on = meeting.hall.pk in halls_with_pictures([meeting.hall])
    return {"spread": studio_spread(now)} if on else None


def _present_at(meeting: Meeting, staff: Staff) -> dict[int, Data]:
    """By child; the latest statement counts. ``away``: the one that says "not here", where it is
    of the person who asks."""
    found: dict[int, Data] = {}
    for child, present, id_, at, by in _attendance(meeting.pk):
        mine = not present and by == staff.pk
        away = {"id": str(id_), "at": at.isoformat()} if mine else None
        found[child] = {"present": present, "away": away}
    return found


@prepared
def _attendance(meeting: int) -> QuerySet[Any, Any]:
    struck = Strike.objects.filter(attempt_id=OuterRef("pk"))
    statements = Attendance.objects.filter(~Exists(struck), meeting=meeting).order_by("at", "pk")
    return statements.values_list(root_of("child"), "present", "pk", "at", "by_id")


def _told(id_: uuid.UUID, child: uuid.UUID, about: str, whom: str, at: datetime.datetime) -> Data:
    known = {"id": str(id_), "child": str(child)}
    return known | {"what": about, "whom": whom, "at": at.isoformat()}


@prepared
def _resolved_at(meeting: int) -> QuerySet[Any, Any]:
    """The ids of refused lines of this class that a director has resolved."""
    resolved = LineResolution.objects.filter(line__meeting=meeting).order_by("pk")
    return resolved.values_list("line__line_id")


# Of the record that stands for the child.
_CHILD_ID = Coalesce("child__merged_into__uuid", "child__uuid")


def _happened(reports: Sequence[Any], staff: Staff) -> dict[str, dict[str, list[Data]]]:
    """What was written down to hurt in this class, and who fell, by child; "mine": the asking
    person can take it back."""
    found: dict[str, dict[str, list[Data]]] = defaultdict(lambda: {"hurts": [], "fell": []})
    for kind, by, id_, child, place, _whom, at in reports:
        if kind in ("hurts", "fell"):
            where = {"place": place} if kind == "hurts" else {}
            about = {"id": str(id_), "at": at.isoformat(), "mine": by == staff.pk}
            found[str(child)][kind].append(about | where)
    return found


def _said_not_tonight(children: Sequence[Child], reports: Sequence[Any], staff: Staff) -> list[int]:
    """Who said so tonight, in confidence: for those alone who may read it on the child's page."""
    said = {id_ for kind, _by, _id, id_, *_about in reports if kind == NOT_TONIGHT}
    return [child.pk for child in children if child.uuid in said] if may_report(staff) else []


def _reports_of(meeting: Meeting, children: Sequence[int]) -> list[Any]:
    """What families were told this evening, here or on a child's page, and what hurts and who fell
    in this class, who said "not tonight", oldest first."""
    on_a_page = Q(meeting=None, day=meeting.date, child__in=children)
    told = Told.objects.filter(Q(meeting=meeting) | on_a_page)
    struck = Strike.objects.filter(attempt_id=OuterRef("pk"))
    pains = Pain.objects.filter(~Exists(struck), meeting=meeting)
    falls = Fell.objects.filter(~Exists(struck), meeting=meeting)
    said = NotTonight.objects.filter(day=meeting.date, child__in=children)
    kinds = [Value(kind, CharField()) for kind in ("told", "hurts", "fell", NOT_TONIGHT)]
    none = Value("", CharField())
    about: list[tuple[str | Value, str | Value]]
    about = [("about", "whom"), ("place", none), (none, none), (none, none)]
    rows, *others = (
        table.values_list(kind, "by_id", "id", _CHILD_ID, *columns, "at")
        for kind, table, columns in zip(kinds, (told, pains, falls, said), about, strict=True)
    )
    return sorted(rows.union(*others, all=True), key=lambda row: (row[-1], row[2]))


def _tonight(meeting: Meeting, staff: Staff, now: datetime.datetime) -> list[Data]:
    """For a meeting of an earlier day: the classes of today that its page leads to, the same class
    first."""
    if now < meeting.hall.end_of(meeting.date):
        return []
    groups = [each.group for each in evenings_today(staff, now)]
    groups.sort(key=lambda group: group.pk != meeting.group_id)
    name_classes(groups)
    return [
        {"group": group.shown, "open": reverse("open-meeting", args=[group.uuid])}
        for group in groups
    ]


def _class_over(meeting: Meeting) -> Data | None:
    """Who said last that the class is over, and when."""
    said = ClassOver.objects.filter(meeting=meeting).select_related("by").order_by("-at", "-pk")
    last = said.first()
    return {"at": last.at.isoformat(), "by": last.by.called} if last else None


def _of_hall(report: HallReport) -> Data:
    said = {"id": str(report.pk), "what": report.kind, "at": report.at.isoformat()}
    return said | {"surface": report.surface, "by": report.by.called}


def _meeting_fields(meeting: Meeting, adults: int) -> Data:
    group, location = meeting.group, meeting.hall
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
    people = Staff.objects.filter(Q(pk__in=of_class) | Q(pk__in=stand_ins)).order_by("pk")
    return people.values_list(*Adult._fields)
