"""The weeks before a director's Friday: what has to be on record when she comes to the desk."""

import datetime
from dataclasses import dataclass

from django.utils import timezone

from progression.models import Drill, Surface
from readiness.engine.replay.state import ONE_DAY
from readiness.models import RunThrough, Show, ShowNumber
from readiness.record import decisions
from readiness.record.show import deciding
from readiness.record.show.places import places_of
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import Reading, read
from studio.models import Child, Staff
from studio.people.today import local_today
from tests.support.cast import Cast, Logged, make_child, make_staff
from tests.support.ready import (
    MAT,
    WEEK,
    back_after_summer,
    evening_of,
    lacks_turns,
    ready_to_be_signed,
    sign_walkover,
)

PHRASE, STAGE_FLOOR = "walkover-in-dance", "bare-stage"


@dataclass
class Friday:
    """The blue class meets tonight: Mai, Ilse and Noor wait for a decision; Juno and Dara are in
    the show, Juno with a yes; Elin lacks only turns; Saga is back after the summer; Runa falls."""

    cast: Cast
    today: datetime.date
    ola: Staff
    noor: Child
    juno: Child
    dara: Child
    elin: Child
    saga: Child
    runa: Child
    number: ShowNumber

    @property
    def last_class(self) -> datetime.date:
        return self.today - WEEK


def make_friday(cast: Cast, log: Logged) -> Friday:
    today = cast.hall.day_of(timezone.now())
    cast.blue.weekday = today.weekday()
    cast.blue.save(update_fields=["weekday"])
    names = ("Noor Haddad", "Juno Park", "Dara Quinn", "Elin Moe", "Saga Falk", "Runa Weir")
    noor, juno, dara, elin, saga, runa = (make_child(name, cast.blue) for name in names)
    last = today - WEEK
    for child in (cast.mai, cast.ilse, noor):
        ready_to_be_signed(cast, log, child, last)
        _recommend(child, cast.omar, evening_of(last) + datetime.timedelta(hours=1))
    number = _show(cast, today)
    for child in (juno, dara):
        _danced(cast, log, child, number, last)
    _yes(number, juno, cast, evening_of(last) + datetime.timedelta(hours=1))
    lacks_turns(cast, log, elin, today=today)
    back_after_summer(cast, log, saga, last)
    ola = make_staff("Ola", "coach", cast.hall)
    return Friday(cast, today, ola, noor, juno, dara, elin, saga, runa, number)


def _recommend(child: Child, by: Staff, at: datetime.datetime) -> None:
    seen = stage_snapshot(_read(child, at), "4")
    decisions.recommend(child, "4", by, seen, at, MAT)


def _read(child: Child, at: datetime.datetime) -> Reading:
    return read(child, local_today([child], at)[child.pk])


def _show(cast: Cast, today: datetime.date) -> ShowNumber:
    """In two weeks, on a bare stage; the number was run through twice."""
    about = {"by": cast.petra, "at": evening_of(today - 6 * WEEK)}
    show = Show.objects.create(
        location=cast.hall, name="Lanterns", on=today + 2 * WEEK, shoes="half soles",
        surface=Surface.objects.get(key=STAGE_FLOOR), **about,
    )  # fmt: skip
    number = ShowNumber.objects.create(
        show=show, name="Night boats", group=cast.blue, easy="Kneel and draw",
        drill=Drill.objects.get(key=PHRASE), **about,
    )  # fmt: skip
    for day in (today - 2 * WEEK, today - WEEK):
        # Turns are logged from 17:00 on.
        ended = datetime.datetime.combine(day, datetime.time(16, 55), datetime.UTC)
        RunThrough.objects.create(
            number=number, day=day, ended_at=ended, by=cast.omar, at=evening_of(day)
        )
    return number


def _danced(cast: Cast, log: Logged, child: Child, number: ShowNumber, day: datetime.date) -> None:
    """The walkover is signed, the day after in the dance too, and done six times clean at the end
    of both run-throughs."""
    signed_on = day - 2 * WEEK
    ready_to_be_signed(cast, log, child, signed_on)
    for before in (4, 3, 2, 1):
        for by in (cast.omar, cast.ines):
            earlier = signed_on - before * ONE_DAY
            log(child, PHRASE, "11", day=earlier, support=1, surface=MAT, by=by)
    sign_walkover(cast, child, signed_on)
    sign_walkover(cast, child, signed_on + ONE_DAY, f"4/{PHRASE}")
    for on in (day - WEEK, day):
        log(child, PHRASE, "111", day=on, support=1, surface=STAGE_FLOOR)
        log(child, "back-walkover", "111", day=on, support=1, surface=MAT)


def _yes(number: ShowNumber, child: Child, cast: Cast, at: datetime.datetime) -> None:
    for verb, by in ((deciding.recommend, cast.omar), (deciding.sign, cast.petra)):
        (place,) = places_of(number, [_read(child, at)])
        verb(number, child, by, at, place.seen)
