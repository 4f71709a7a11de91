"""Where children stand: read a record, keep the reading for lists and for the floor.

``read(child, day)`` reads one child now, with everything the pages need.
``stand(children, day, ladders)`` reads children and keeps their standings.
``current(children, now)`` gives the kept standings, read anew where they are of another day.
"""

import datetime
import hashlib
import json
import zoneinfo
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction

from progression.models import LadderVersion
from readiness.engine.evidence import Evidence
from readiness.engine.reading import ChildReading, as_json, read_child
from readiness.ladders import Ladders, NamedLadder
from readiness.models import Standing
from readiness.record import Record, load, unstruck_on
from studio.models import Child, ClassGroup


@dataclass(frozen=True)
class Reading:
    """One child read on a day: the engine's reading, its plain data, the evidence, the ladder."""

    child: Child
    read: ChildReading
    data: dict[str, object]
    evidence: Evidence
    record: Record
    ladder: NamedLadder


def local_today(children: Iterable[Child], now: datetime.datetime) -> dict[int, datetime.date]:
    """Today's date for each child, in the zone of a hall where the child has class."""
    ids = [child.pk for child in children]
    groups = ClassGroup.objects.filter(children__in=ids).select_related("location")
    days = {child: now.astimezone(datetime.UTC).date() for child in ids}
    for group in groups.prefetch_related("children").order_by("-pk"):
        for child in group.children.all():
            if child.pk in days:
                days[child.pk] = group.location.day_of(now)
    return days


def zone_of(child: Child) -> zoneinfo.ZoneInfo:
    """The zone of the hall that decides this child's days; UTC with no class."""
    group = child.classes.select_related("location").order_by("pk").first()
    return zoneinfo.ZoneInfo(group.location.zone if group else "UTC")


def read(child: Child, day: datetime.date, ladders: Ladders | None = None) -> Reading:
    """Read one child during ``day``."""
    return read_many([child], day, ladders)[0]


def read_many(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children during ``day``, by a fixed number of queries."""
    ladders = ladders or Ladders()
    ids = [child.pk for child in children]
    records, turns = load(ids), unstruck_on(ids, day)
    named = ladders.named_on(day)
    readings = []
    for child in children:
        record = records[child.pk]
        evidence = Evidence(record.tallies)
        found = read_child(evidence, record.events, turns.get(child.pk, []), day, ladders.on)
        data = as_json(found, str(child.uuid), named.number)
        readings.append(Reading(child, found, data, evidence, record, named))
    return readings


def digest_of(data: object) -> str:
    """SHA-256 of plain data in one fixed form, so that equal readings have equal digests."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def stand(
    children: Sequence[Child], day: datetime.date, ladders: Ladders | None = None
) -> list[Reading]:
    """Read children and keep their standings."""
    readings = read_many(children, day, ladders)
    numbers = {reading.ladder.number for reading in readings}
    versions = {
        version.number: version.pk
        for version in LadderVersion.objects.filter(number__in=numbers).only("pk", "number")
    }
    Standing.objects.bulk_create(
        [
            Standing(
                child=reading.child,
                read_on=day,
                ladder_id=versions[reading.ladder.number],
                reading=reading.data,
                digest=digest_of(reading.data),
            )
            for reading in readings
        ],
        update_conflicts=True,
        unique_fields=["child"],
        update_fields=["read_on", "ladder", "reading", "digest"],
    )
    return readings


def current(children: Sequence[Child], now: datetime.datetime) -> dict[int, Standing]:
    """The standings of today; those of another day, or of another ladder, are read anew."""
    ladders = Ladders()
    days = local_today(children, now)
    kept = Standing.objects.in_bulk([child.pk for child in children], field_name="child_id")
    stale: dict[datetime.date, list[Child]] = {}
    numbers = dict(LadderVersion.objects.values_list("pk", "number"))
    for child in children:
        day = days[child.pk]
        standing = kept.get(child.pk)
        number = ladders.named_on(day).number
        if standing is None or standing.read_on != day or numbers[standing.ladder_id] != number:
            stale.setdefault(day, []).append(child)
    for day, some in stale.items():
        _stand_locked(some, day, ladders)
    if stale:
        return Standing.objects.in_bulk([child.pk for child in children], field_name="child_id")
    return kept


def _stand_locked(children: Sequence[Child], day: datetime.date, ladders: Ladders) -> None:
    """Read with the children's rows locked, as turns and decisions do: a reading that was
    taken before a turn can then never be kept after it."""
    with transaction.atomic():
        rows = Child.objects.filter(pk__in=[child.pk for child in children])
        locked = list(rows.order_by("pk").select_for_update())
        stand(locked, day, ladders)
