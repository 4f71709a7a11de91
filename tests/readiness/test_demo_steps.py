"""Who gives a step in the demo is who may give it: the same answer as that of the record's rule."""

import datetime

import pytest

from readiness.demo.decisions import has_held
from readiness.engine.levels import Support
from readiness.engine.replay.next_step import Tap
from readiness.record.standings import read
from readiness.record.two_people.taps import may_tap
from tests.support.cast import TODAY, Cast, Logged

DRILL = "back-walkover"


@pytest.mark.parametrize("days_ago", [0, 28, 29])
@pytest.mark.parametrize("held", [Support.HANDS_ON, Support.LIGHT_TOUCH, Support.STANDING_BY])
def test_a_coach_who_has_lately_held_the_child_and_nobody_else(
    cast: Cast, log: Logged, held: Support, days_ago: int
) -> None:
    day = TODAY - datetime.timedelta(days=days_ago)
    log(cast.mai, DRILL, "1", day=day, support=int(held), by=cast.ines)
    reading = read(cast.mai, TODAY)
    rule, ladder = reading.ladder.engine.tap, reading.ladder.engine
    tap = Tap(DRILL, "3", Support.LIGHT_TOUCH, director=False, again=False)
    found = {
        staff: has_held(staff.pk, tap, reading.evidence, rule, TODAY)
        for staff in (cast.ines, cast.omar)
    }
    assert found == {
        staff: may_tap(staff, tap, cast.mai, ladder, TODAY) for staff in (cast.ines, cast.omar)
    }
    assert found == {cast.ines: held == Support.HANDS_ON and days_ago <= 28, cast.omar: False}
