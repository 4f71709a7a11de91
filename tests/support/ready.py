"""Records that bring a child where a test needs it, through the real door."""

import datetime

from readiness.models import Placing, Standing
from readiness.record.standings import fresh_standings
from tests.support.cast import TODAY, Cast, Logged

WEEKS = [TODAY - datetime.timedelta(weeks=back) for back in (3, 2, 1, 0)]
MAT = "sprung-dance-floor"


def readings_now(children, now: datetime.datetime):
    """By child, what is stored of them: read now, where it was not."""
    fresh_standings(children, now)
    return dict(Standing.objects.filter(child__in=children).values_list("child", "reading"))


def place_at(cast: Cast, child, stage: int, day: datetime.date):
    from progression.models import LadderVersion, Surface

    return Placing.objects.create(
        child=child,
        stage=stage,
        surface=Surface.objects.get(key=MAT),
        reason="seen on the first day",
        by=cast.petra,
        at=datetime.datetime.combine(day, datetime.time(17), datetime.UTC),
        day=day,
        ladder=LadderVersion.objects.get(),
    )


def ready_to_be_signed(cast: Cast, log: Logged, child=None) -> None:
    """Placed at stage 3; every gate of stage 4 is met on TODAY on the sprung floor."""
    child = child or cast.mai
    place_at(cast, child, 3, WEEKS[0] - datetime.timedelta(weeks=4))
    for day in WEEKS:
        log(child, "back-walkover", "1111", day=day, support=1, surface=MAT)
    for day in WEEKS[:2]:
        log(child, "bridge-line", [2, 2], day=day, support=0, surface=MAT)
    log(child, "back-walkover", "11", day=WEEKS[2], support=1, surface=MAT, by=cast.ines)
