"""A class added, changed, moved to another hall or time from a day on.

Shared: ``make_due_moves`` is called by whatever reads where a class is: tonight, the floor's pack,
the review, a paper log.
"""

import datetime
import logging
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from studio.access import visible_colleagues
from studio.as_seen import mark, refuse_if_changed
from studio.models import ClassGroup, ClassMove, Location, Staff

log = logging.getLogger("ladder.classes")

PLAN = ("location", "weekday", "starts_at", "minutes")


def add_class(said: Mapping[str, Any], by: Staff) -> ClassGroup:
    with transaction.atomic():
        plan = {field: said[field] for field in PLAN}
        group = ClassGroup.objects.create(name=said["name"], **plan)
        group.staff.set(said["staff"])
    log.info("class added group=%s by=%s", group.uuid, by.uuid)
    return group


def class_mark(group: ClassGroup) -> str:
    """Of what the class's forms were shown with."""
    return mark(*_facts(group))


def _facts(group: ClassGroup) -> tuple[object, ...]:
    plan = group.location_id, int(group.weekday), group.starts_at, int(group.minutes)
    moves = group.moves.filter(done=False).order_by("from_day").values_list("from_day", flat=True)
    staff = group.staff.order_by("pk").values_list("pk", flat=True)
    return group.name, *plan, list(moves), list(staff)


def _locked(group: ClassGroup, seen: str) -> ClassGroup:
    row = ClassGroup.objects.select_for_update(no_key=True).get(pk=group.pk)
    refuse_if_changed(seen, *_facts(row))
    return row


def change_class(group: ClassGroup, said: Mapping[str, Any], seen: str, by: Staff) -> None:
    """Its name and its staff; of those only the director's colleagues. Raises ChangedMeanwhile."""
    with transaction.atomic():
        row = _locked(group, seen)
        row.name = said["name"]
        row.save(update_fields=["name"])
        others = set(row.staff.all()) - set(visible_colleagues(by))
        row.staff.set(others | set(said["staff"]))
    log.info("class changed group=%s by=%s", group.uuid, by.uuid)


def move_class(
    group: ClassGroup, said: Mapping[str, Any], seen: str, by: Staff, now: datetime.datetime
) -> None:
    """From ``from_day`` on it meets so. A later move than that is taken back. Raises
    ChangedMeanwhile."""
    with transaction.atomic():
        row = _locked(group, seen)
        row.moves.filter(done=False, from_day__gte=said["from_day"]).delete()
        plan = {field: said[field] for field in PLAN}
        row.moves.update_or_create(
            from_day=said["from_day"], defaults={"by": by, "done": False, **plan}
        )
        make_due_moves(now)
    log.info("class moved group=%s by=%s", group.uuid, by.uuid)


def make_due_moves(now: datetime.datetime) -> None:
    """Let the rows of classes say what counts since a day that has come. A class whose name is
    taken in its new hall stays until it has another one."""
    tomorrow = (now + datetime.timedelta(days=1)).date()
    rows = ClassMove.objects.filter(done=False, from_day__lte=tomorrow)
    # Nearly always none: then nobody's writing is waited for.
    if not rows.exists():
        return
    with transaction.atomic():
        for move in rows.select_related("group", "location").order_by("from_day", "pk"):
            due = move.from_day <= move.location.day_of(now)
            if not due or name_taken(move.location, move.group.name, move.group):
                continue
            for field in PLAN:
                setattr(move.group, field, getattr(move, field))
            move.group.save(update_fields=PLAN)
            move.done = True
            move.save(update_fields=["done"])


def name_taken(hall: Location, name: str, besides: ClassGroup | None = None) -> bool:
    """Whether another class of the hall, or one that is going to move there, has this name."""
    others = ClassGroup.objects.filter(name=name)
    if besides is not None:
        others = others.exclude(pk=besides.pk)
    coming = ClassMove.objects.filter(location=hall, done=False).values("group")
    return (others.filter(location=hall) | others.filter(pk__in=coming)).exists()
