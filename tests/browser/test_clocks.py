"""A tablet whose clock is wrong: the day and the time of each turn are right all the same."""

import datetime
import time
from collections.abc import Callable
from zoneinfo import ZoneInfo

import pytest
import time_machine
from playwright.sync_api import Page, expect

from progression.models import Attempt
from studio.models import Meeting, Staff
from tests.support.browser.floor_taps import all_sent, clean, open_class
from tests.support.cast import Cast

CHICAGO = ZoneInfo("America/Chicago")
FAST = datetime.timedelta(hours=3)

# The page's wall clock runs ahead of the browser's by so many milliseconds.
AHEAD = """(() => {
    const Plain = Date;
    const ahead = %d;
    globalThis.Date = class extends Plain {
        constructor(...parts) {
            if (parts.length === 0) super(Plain.now() + ahead);
            else super(...parts);
        }
        static now() { return Plain.now() + ahead; }
    };
})()"""


@pytest.mark.parametrize(
    ("date", "at"),
    [
        # Summer time ends on 1 November 2026 at two in the morning: that hour comes twice.
        (datetime.date(2026, 10, 31), datetime.datetime(2026, 10, 31, 22, 30, tzinfo=CHICAGO)),
        (datetime.date(2026, 10, 31), datetime.datetime(2026, 11, 1, 0, 30, tzinfo=CHICAGO)),
        (datetime.date(2026, 11, 1), datetime.datetime(2026, 11, 1, 1, 30, fold=1, tzinfo=CHICAGO)),
        (datetime.date(2026, 11, 1), datetime.datetime(2026, 11, 1, 22, 30, tzinfo=CHICAGO)),
    ],
    ids=str,
)
def test_a_tablet_three_hours_fast_on_the_night_clocks_change(
    page: Page,
    signed_in: Callable[[Staff], str],
    cast: Cast,
    date: datetime.date,
    at: datetime.datetime,
) -> None:
    cast.hall.zone = "America/Chicago"
    cast.hall.save(update_fields=["zone"])
    page.add_init_script(AHEAD % ((at + FAST).timestamp() * 1000 - time.time() * 1000))
    with time_machine.travel(at, tick=True):
        meeting = Meeting.objects.create(group=cast.blue, date=date, starts_at=cast.blue.starts_at)
        meeting.staff.set([cast.omar])
        signed_in(cast.omar)
        open_class(page, meeting)
        clean(page, "Mai").tap()
        all_sent(page)
        expect(page.locator("#kept")).to_have_text("All sent")
        (stored,) = Attempt.objects.all()
        now = datetime.datetime.now(datetime.UTC)
    assert stored.day == date
    # The page's own clock was three hours ahead; the turn's time is not.
    assert stored.device_time - stored.done_at > FAST - datetime.timedelta(seconds=2)
    assert datetime.timedelta() <= now - stored.done_at < datetime.timedelta(seconds=30)
    assert "clock" not in stored.flags
