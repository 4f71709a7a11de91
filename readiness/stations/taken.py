"""Plans that were taken: the last one of an evening counts."""

import datetime
import logging
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from django.core import signing
from django.db import transaction

from progression.models import Drill
from readiness.engine.stations.plan import Plan
from readiness.engine.stations.problem import At, Post, Problem
from readiness.models import StationPlace, StationPlan
from readiness.record.told.alerts import alert_class
from readiness.stations.evening.set_up import drill_of
from studio.models import Meeting, Staff
from studio.people.records import root_of

log = logging.getLogger("ladder.stations")

SALT = "stations"
# A page with a plan may stay open so long before it is taken.
DRAFT_STAYS = datetime.timedelta(hours=24)
# So long after it was taken a plan is bettered, not made anew.
NEAR = datetime.timedelta(days=28)


@dataclass(frozen=True)
class Taken:
    """``plan``: of all rotations, with nothing said of how good it is."""

    row: StationPlan
    plan: Plan


class DraftLost(Exception):
    """What was sent is no plan of this evening, or too old."""


def draft_of(meeting: Meeting, problem: Problem, plan: Plan) -> str:
    """A plan as it was shown, whole and signed, so that what is taken is what was seen."""
    before = sorted(problem.done, key=lambda each: (each.rotation, each.station))
    at = [each for each in before if isinstance(each, At)]
    posts = [each for each in before if isinstance(each, Post)]
    data = {
        "meeting": str(meeting.uuid),
        "numbers": [problem.rotations, problem.minutes, problem.start],
        "at": [[each.child, each.station, each.rotation] for each in [*at, *plan.at]],
        "posts": [[each.adult, each.station, each.rotation] for each in [*posts, *plan.posts]],
        "places": plan.places,
    }
    return signing.dumps(data, salt=SALT, compress=True)


def take(meeting: Meeting, draft: str, by: Staff, now: datetime.datetime) -> StationPlan:
    """Raises DraftLost."""
    data = _read(meeting, draft)
    rotations, minutes, start = data["numbers"]
    drills = dict(Drill.objects.values_list("key", "pk"))
    with transaction.atomic():
        row = StationPlan.objects.create(
            meeting=meeting,
            rotations=rotations,
            minutes=minutes,
            start=start,
            places=data["places"],
            by=by,
            at=now,
        )
        StationPlace.objects.bulk_create(
            StationPlace(
                plan=row,
                rotation=rotation,
                station=station,
                drill_id=drills[drill_of(station)[0]],
                spotters=drill_of(station)[1],
                **{who: person},
            )
            for name, who in (("at", "child_id"), ("posts", "adult_id"))
            for person, station, rotation in data[name]
        )
        alert_class(meeting)
    log.info("stations taken meeting=%s plan=%s by=%s", meeting.uuid, row.uuid, by.uuid)
    return row


def _read(meeting: Meeting, draft: str) -> Mapping[str, Any]:
    try:
        data: Mapping[str, Any] = signing.loads(draft, salt=SALT, max_age=DRAFT_STAYS)
    except signing.BadSignature:
        raise DraftLost from None
    if data["meeting"] != str(meeting.uuid):
        raise DraftLost
    return data


def taken_of(meeting: Meeting) -> Taken | None:
    rows = StationPlan.objects.filter(meeting=meeting).order_by("at", "pk")
    last = rows.select_related("by", "meeting__group__location", "meeting__location").last()
    return Taken(last, plan_of(last)) if last else None


def taken_of_all(meetings: Collection[Meeting]) -> dict[int, Taken]:
    """By meeting; of those without a plan nothing."""
    rows = StationPlan.objects.filter(meeting__in=meetings).order_by("at", "pk")
    last = {row.meeting_id: row for row in rows}
    return {meeting: Taken(row, plan_of(row)) for meeting, row in last.items()}


def last_before(meeting: Meeting) -> Plan | None:
    """The plan of this class's last evening that had one, lately."""
    rows = StationPlan.objects.filter(
        meeting__group=meeting.group_id,
        meeting__date__lt=meeting.date,
        meeting__date__gte=meeting.date - NEAR,
    )
    last = rows.order_by("meeting__date", "at", "pk").last()
    return plan_of(last) if last else None


def plan_of(row: StationPlan) -> Plan:
    """Under the records that stand for the children now."""
    rows = StationPlace.objects.filter(plan=row).order_by("rotation", "station", "pk")
    columns = rows.values_list(root_of("child"), "adult_id", "station", "rotation")
    at, posts = [], []
    for child, adult, station, rotation in columns:
        if adult is None:
            at.append(At(child, station, rotation))
        else:
            posts.append(Post(adult, station, rotation))
    places = {key: (tuple(wall), tuple(floor)) for key, (wall, floor) in row.places.items()}
    return Plan(tuple(at), tuple(posts), places, worth=0, bound=0)
