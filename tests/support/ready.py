"""Records that bring a child where a test needs it, through the real door."""

import datetime

from progression.models import Drill, LadderVersion, Surface
from readiness.models import Decision, Placing, Standing
from readiness.record.standings import fresh_standings
from studio.models import Staff
from tests.support.cast import TODAY, Cast, Logged

WEEK = datetime.timedelta(weeks=1)
WEEKS = [TODAY - datetime.timedelta(weeks=back) for back in (3, 2, 1, 0)]
MAT = "sprung-dance-floor"


def readings_now(children, now: datetime.datetime):
    """By child, what is stored of them: read now, where it was not."""
    fresh_standings(children, now)
    return dict(Standing.objects.filter(child__in=children).values_list("child", "reading"))


def evening_of(day: datetime.date) -> datetime.datetime:
    """After that day's class."""
    return datetime.datetime.combine(day, datetime.time(18), datetime.UTC)


def place_at(cast: Cast, child, stage: int, day: datetime.date):
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


def ready_to_be_signed(cast: Cast, log: Logged, child=None, day: datetime.date = TODAY) -> None:
    """Placed at stage 3; every gate of stage 4 is met on ``day`` on the sprung floor."""
    child = child or cast.mai
    weeks = [day - WEEK * back for back in (3, 2, 1, 0)]
    place_at(cast, child, 3, weeks[0] - 4 * WEEK)
    for each in weeks:
        log(child, "back-walkover", "1111", day=each, support=1, surface=MAT)
    for each in weeks[:2]:
        log(child, "bridge-line", [2, 2], day=each, support=0, surface=MAT)
    log(child, "back-walkover", "11", day=weeks[2], support=1, surface=MAT, by=cast.ines)


def sign_walkover(cast: Cast, child, day: datetime.date, stage: str = "4") -> None:
    """Recommended by Omar and signed by Petra on ``day``, whatever the record says."""
    about = {
        "child": child, "stage": stage, "day": day, "at": evening_of(day), "reading": {},
        "surface": Surface.objects.get(key=MAT), "ladder": LadderVersion.objects.get(),
        "digest": "",
    }  # fmt: skip
    asked = Decision.objects.create(**about, kind="recommend", by=cast.omar, as_director=False)
    Decision.objects.create(**about, kind="sign", by=cast.petra, as_director=True, answers=asked)


def give_step(child, by: Staff, day: datetime.date, support: int, stage: str = "4") -> None:
    """A step of less support at the walkover."""
    Decision.objects.create(
        child=child, kind="step", stage=stage, drill=Drill.objects.get(key="back-walkover"),
        support=support, by=by, as_director=by.role == Staff.Role.DIRECTOR, day=day, reading={},
        digest="", at=evening_of(day), ladder=LadderVersion.objects.get(),
    )  # fmt: skip


def lacks_turns(
    cast: Cast,
    log: Logged,
    child,
    outcomes: str = "1111",
    today: datetime.date = TODAY,
    days: tuple[tuple[int, int], ...] = ((5, 2), (4, 2), (3, 1), (2, 1), (1, 1)),
) -> None:
    """Placed at 3 and stepped down to standing by; bridges of the grade asked for; clean there on
    three days, the last a week ago, and four are asked. ``days``: weeks ago, and the support."""
    place_at(cast, child, 3, today - 12 * WEEK)
    for back, support in days:
        day = today - back * WEEK
        log(child, "back-walkover", outcomes, day=day, support=support, surface=MAT)
    give_step(child, cast.omar, day, 1, stage="3")
    for back in (2, 1):
        log(child, "bridge-line", [2, 2], day=today - back * WEEK, support=0, surface=MAT)


def back_after_summer(cast: Cast, log: Logged, child, day: datetime.date) -> None:
    """Signed in spring, away for more than eight weeks, and back at standing by on ``day``: the
    last step of the way back waits."""
    signed_on = day - 28 * WEEK
    ready_to_be_signed(cast, log, child, signed_on)
    sign_walkover(cast, child, signed_on)
    log(child, "back-walkover", "1111", day=signed_on + WEEK, support=1, surface=MAT)
    for back, support, given in ((2, 3, 2), (1, 2, 1), (0, 1, None)):
        on = day - back * WEEK
        log(child, "back-walkover", "1111", day=on, support=support, surface=MAT)
        if given is not None:
            give_step(child, cast.petra, on, given)
