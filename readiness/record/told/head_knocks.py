"""What is written down of a head knock: the knock, a symptom, a clearance, a step given.

Shared: used by the page about it. The rule is readiness/engine/head_steps.py; DecisionRefused says
why something was not taken.
"""

import datetime
import logging

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet

from progression.models import Strike
from readiness.engine.head_steps import (
    ONE_DAY,
    HeadRule,
    HeadWay,
    Wait,
    after_event,
    in_head_order,
    next_step,
    refusals,
)
from readiness.engine.replay.events import Event
from readiness.models import AfterKnock, Clearance, HeadKnock, StepGiven, Symptom
from readiness.record.decisions import DecisionRefused, refuse_unless
from readiness.record.standings import Reading, lock, read, refresh_standings
from readiness.record.told.alerts import alert_classes_of
from readiness.record.told.on_the_page import store_report
from studio.access import may_give_head_steps, may_tell_of_head
from studio.models import Child, Staff
from studio.people.today import local_today, zone_of

log = logging.getLogger("ladder.decisions")


@transaction.atomic
def tell_knock(
    child: Child, by: Staff, now: datetime.datetime, on: datetime.date, elsewhere: bool
) -> None:
    """A knock on the head, here or elsewhere: the way back begins at once."""
    refuse_unless(may_tell_of_head(by), "may-not")
    locked, day = lock_child(child, now)
    refuse_unless(on <= day, "head-day")
    refuse_unless(not knocks_of(locked).filter(on=on).exists(), "head-known")
    store_report(HeadKnock(on=on, elsewhere=elsewhere), locked, by, now, day)
    alert_classes_of(locked, day)


def tell_symptom(child: Child, by: Staff, now: datetime.datetime, on: datetime.date) -> None:
    """One step back at once, and the days are counted anew."""
    refuse_unless(may_tell_of_head(by), "may-not")
    _tell(child, by, now, Symptom(on=on), on)


def note_clearance(
    child: Child, by: Staff, now: datetime.datetime, cleared_by: str, on: datetime.date
) -> None:
    """By whom and when: never what was found."""
    refuse_unless(may_give_head_steps(by), "may-not")
    _tell(child, by, now, Clearance(on=on, cleared_by=cleared_by), on)


@transaction.atomic
def give_step(
    child: Child,
    by: Staff,
    now: datetime.datetime,
    step: int,
    said_by: str,
    said_on: datetime.date,
) -> None:
    """The next step, on the family's "no symptoms"; it counts from the next day."""
    refuse_unless(may_give_head_steps(by), "may-not")
    locked, day = lock_child(child, now)
    reading = read(locked, day)
    way, rule = way_now(reading), reading.ladder.engine.head
    if way is None or way.is_over:
        raise DecisionRefused("head-none")
    refuse_unless(step == way.step + 1, "head-step-changed")
    given = StepGiven(step=step, said_by=said_by, said_on=said_on)
    event = Event("head-step", day, now, str(given.pk), on=said_on, step=step)
    for wait in refusals(way, event, rule):
        raise _refused(locked, way, rule, day, wait)
    _store(given, locked, by, now, day)


def way_now(reading: Reading) -> HeadWay | None:
    """The way with all that was told and given today; what allows more counts from tomorrow."""
    day, way = reading.read.day, reading.read.state.head
    today = [event for event in reading.record.events if event.day == day]
    for event in in_head_order(today):
        # What asks for more caution is in the reading already.
        if event.kind in ("head-clearance", "head-step"):
            way = after_event(way, event, reading.ladder.engine.head)
    return way


def knocks_of(child: Child) -> "QuerySet[HeadKnock]":
    """Those that nobody has taken back, the newest first."""
    struck = Strike.objects.filter(
        attempt_id=OuterRef("pk"), received_at__gte=OuterRef("received_at")
    )
    rows = HeadKnock.objects.filter(~Exists(struck), child__in=child.records)
    return rows.order_by("-on", "-at", "-pk")


def _tell(
    child: Child, by: Staff, now: datetime.datetime, told: Symptom | Clearance, on: datetime.date
) -> None:
    """Of a day since the knock; whether the way is over or not."""
    with transaction.atomic():
        locked, day = lock_child(child, now)
        way = read(locked, day).read.state.head
        if way is None:
            raise DecisionRefused("head-none")
        refuse_unless(way.knocked_on <= on <= day, "head-day")
        _store(told, locked, by, now, day)


def _store(
    told: AfterKnock, child: Child, by: Staff, now: datetime.datetime, day: datetime.date
) -> None:
    told.knock, told.by, told.at, told.day = knocks_of(child)[0], by, now, day
    told.save(force_insert=True)
    refresh_standings([child], day)
    alert_classes_of(child, day)
    log.info("head knock, %s child=%s by=%s", type(told).__name__.lower(), child.uuid, by.uuid)


def _refused(
    child: Child, way: HeadWay, rule: HeadRule, day: datetime.date, wait: Wait
) -> DecisionRefused:
    """With the earliest day of the step, and of what is said to wait."""
    following = next_step(way, rule, day)
    about: dict[str, object] = {
        "step": way.step + 1,
        "clear": rule.clear_days,
        "full": rule.full_return_day,
        "earliest": following.earliest if following else day,
    }
    if wait.code == "24-hours" and way.given_at is not None:
        about["at"] = (way.given_at + ONE_DAY).astimezone(zone_of(child))
    return DecisionRefused(f"head-{wait.code}", **about)


def lock_child(child: Child, now: datetime.datetime) -> tuple[Child, datetime.date]:
    """The child with its row locked, and the day in the child's hall."""
    locked = lock(Child.objects.filter(pk=child.pk)).get()
    return locked, local_today([locked], now)[locked.pk]
