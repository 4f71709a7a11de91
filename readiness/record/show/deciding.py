"""What people decide for the show list, and when that is refused.

A yes is recommended by one and signed by another, as unspotted work is. Whoever gives less needs
nobody. On the day of the show nothing more is given. Each verb locks the child's row, reads again,
and stores only if it is still what the person saw; DecisionRefused says why not.
"""

import datetime
import logging
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import transaction

from progression.models import Drill, Surface
from readiness.engine.evening.show_list import Version, is_less
from readiness.models import RunThrough, Show, ShowEntry, ShowNumber, Wings
from readiness.record.decisions import DecisionRefused, refuse_unless
from readiness.record.show.places import Place, places_of, zone_of_show
from readiness.record.standings import lock, read
from readiness.record.two_people.new_accounts import gate_drills, too_new
from studio.access import (
    may_decide,
    may_decide_on,
    may_direct,
    may_recommend,
    may_recommend_for,
)
from studio.models import Child, ClassGroup, Location, Staff

log = logging.getLogger("ladder.decisions")
Kind = ShowEntry.Kind


def add_show(
    location: Location,
    by: Staff,
    now: datetime.datetime,
    name: str,
    on: datetime.date,
    surface: str,
    shoes: str,
) -> Show:
    """A show of a day to come."""
    refuse_unless(may_direct(by), "may-not")
    refuse_unless(on > location.day_of(now), "show-past")
    floor = Surface.objects.get(key=surface)
    about = {"name": name, "on": on, "surface": floor, "shoes": shoes}
    return Show.objects.create(location=location, by=by, at=now, **about)


def add_number(
    show: Show,
    by: Staff,
    now: datetime.datetime,
    name: str,
    group: ClassGroup,
    drill: str,
    easy: str,
) -> ShowNumber:
    """easy: what a child does there instead, in words."""
    refuse_unless(may_direct(by), "may-not")
    refuse_unless(show.on > show.location.day_of(now), "show-past")
    about = {"name": name, "group": group, "drill": Drill.objects.get(key=drill), "easy": easy}
    return ShowNumber.objects.create(show=show, by=by, at=now, **about)


def put_in_the_wings(number: ShowNumber, by: Staff, now: datetime.datetime, adult: Staff) -> None:
    """An adult who may spot: no assistant, who may be a child still."""
    refuse_unless(may_recommend(by), "may-not")
    refuse_unless(may_recommend(adult), "show-no-adult")
    Wings.objects.create(number=number, adult=adult, by=by, at=now)


def tell_run_through(
    number: ShowNumber, by: Staff, now: datetime.datetime, ended: datetime.time
) -> None:
    """Today's, on the show's floor, in its shoes and costume, was over at a time of the hall's
    clock."""
    refuse_unless(may_recommend(by), "may-not")
    zone = zone_of_show(number)
    at = datetime.datetime.combine(now.astimezone(zone).date(), ended, zone)
    refuse_unless(at <= now, "show-run-to-come")
    RunThrough.objects.create(number=number, day=at.date(), ended_at=at, by=by, at=now)


def recommend(
    number: ShowNumber, child: Child, by: Staff, now: datetime.datetime, seen: str
) -> None:
    refuse_unless(may_recommend(by), "may-not")
    with _locked(number, child, now, seen) as place:
        refuse_unless(may_recommend_for(by, place.child), "family")
        refuse_unless(place.asked is None, "show-asked")
        refuse_unless(place.version != "yes", "show-has-yes")
        _check_ready(place)
        _store(place, Kind.RECOMMEND, by, now)


def sign(number: ShowNumber, child: Child, by: Staff, now: datetime.datetime, seen: str) -> None:
    """A yes, to what somebody else recommended."""
    refuse_unless(may_decide(by), "may-not")
    with _locked(number, child, now, seen) as place:
        asked = place.asked
        if asked is None or asked.child_id != place.child.pk:
            raise DecisionRefused("no-recommendation")
        refuse_unless(asked.by_id != by.pk, "same-person")
        refuse_unless(may_decide_on(by, place.child), "family")
        _check_ready(place)
        drill = place.phrase.drill
        stage = place.reading.ladder.engine.drills[drill].stage
        code = too_new(place.reading, {drill, *gate_drills(place.reading, stage)}, asked.by, by)
        refuse_unless(not code, code)
        _store(place, Kind.YES, by, now, asked)


def _check_ready(place: Place) -> None:
    """Nothing is given on the day of the show, nor after it."""
    refuse_unless(place.day < place.number.show.on, "show-day")
    refuse_unless(place.child.is_known, "child-not-known")
    refuse_unless(place.signed_stage and place.may_be_there, "show-not-signed")
    refuse_unless(place.record.met, "show-not-met")


def put(
    number: ShowNumber,
    child: Child,
    by: Staff,
    now: datetime.datetime,
    seen: str,
    version: Version,
) -> None:
    """Somebody beside, or the easy version. Less than there was: anybody, at any time, whatever
    has come in meanwhile. More: a coach, before the day of the show."""
    with _locked(number, child, now) as place:
        if is_less(version, place.version) or version == "easy":
            _store(place, Kind(version), by, now)
            return
        refuse_unless(may_recommend(by), "may-not")
        refuse_unless(version == "beside", "no-recommendation")
        _check_seen(place, seen)
        refuse_unless(place.day < number.show.on, "show-day")
        refuse_unless(place.may_be_there, "show-closed")
        _store(place, Kind.BESIDE, by, now)


def say_on_the_day(
    number: ShowNumber, child: Child, by: Staff, now: datetime.datetime, kind: Kind
) -> None:
    """The child's own yes, or that the first turn there was done with a coach beside."""
    refuse_unless(may_recommend(by), "may-not")
    with _locked(number, child, now) as place:
        refuse_unless(place.day == number.show.on, "show-other-day")
        refuse_unless(place.version == "yes", "show-no-yes")
        _store(place, kind, by, now)


@contextmanager
def _locked(
    number: ShowNumber, child: Child, now: datetime.datetime, seen: str | None = None
) -> Iterator[Place]:
    """``seen``: what the page showed, if it has to be that still."""
    with transaction.atomic():
        locked = lock(Child.objects.filter(pk=child.pk)).get()
        place = places_of(number, [read(locked, number.show.location.day_of(now))])[0]
        if seen is not None:
            _check_seen(place, seen)
        yield place


def _check_seen(place: Place, seen: str) -> None:
    if seen == place.seen:
        return
    last = place.last
    if last is not None and not seen.startswith(str(last.uuid)):
        at = last.at.astimezone(zone_of_show(place.number))
        raise DecisionRefused("already-decided", by=last.by.called, at=at, what=f"show-{last.kind}")
    raise DecisionRefused("evidence-changed")


def _store(
    place: Place,
    kind: Kind,
    by: Staff,
    now: datetime.datetime,
    answers: ShowEntry | None = None,
) -> None:
    about = {"number": place.number, "child": place.child, "kind": kind, "answers": answers}
    ShowEntry.objects.create(by=by, at=now, day=place.day, **about)
    log.info("show list, %s child=%s by=%s", kind, place.child.uuid, by.uuid)
