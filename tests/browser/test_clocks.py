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
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import all_sent, box, clean, not_clean, open_class
from tests.support.browser.killable import Killable
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
        late = date != at.date()
        open_class(page, meeting, late)
        clean(page, "Mai").tap()
        all_sent(page)
        expect(page.locator("#kept")).to_have_text("All sent")
        (stored,) = Attempt.objects.all()
        now = datetime.datetime.now(datetime.UTC)
    assert stored.day == date
    # The page's own clock was three hours ahead; the turn's time is not.
    assert stored.device_time - stored.done_at > FAST - datetime.timedelta(seconds=2)
    assert datetime.timedelta() <= now - stored.done_at < datetime.timedelta(seconds=30)
    assert stored.flags == (["after-its-day"] if late else [])


# The page's wall clock runs ahead of the browser's by "ahead", which a test may change.
SETTABLE = """(() => {
    const Plain = Date;
    globalThis.ahead = Number(localStorage.getItem("ahead") ?? 0);
    globalThis.Date = class extends Plain {
        constructor(...parts) {
            if (parts.length === 0) super(Plain.now() + ahead);
            else super(...parts);
        }
        static now() { return Plain.now() + ahead; }
    };
})()"""


def set_clock(page: Page, ahead: datetime.timedelta) -> None:
    """Also for the page after a reload."""
    page.evaluate(
        "(ms) => { globalThis.ahead = ms; localStorage.setItem('ahead', ms); }",
        ahead.total_seconds() * 1000,
    )


def test_turns_of_one_page_keep_their_order_whatever_the_clock_does(
    killable: Killable,
    page: Page,
    signed_in: Callable[[Staff], str],
    cast: Cast,
    meeting: Meeting,
) -> None:
    page.add_init_script(SETTABLE)
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    # Opened with a wrong clock, and without a server that could say so.
    set_clock(page, FAST)
    page.reload()
    expect(clean(page, "Mai")).to_be_visible()
    right = datetime.timedelta()
    clocks = [FAST, right, -FAST, right, FAST]
    for at, ahead in enumerate(clocks):
        set_clock(page, ahead)
        settle(page)
        (not_clean if at % 2 else clean)(page, "Mai").tap()
        settle(page)
        if at % 2:
            page.locator("#faults").get_by_role("button", name="Done").tap()
            settle(page)
    set_clock(page, right)
    lines = [kept["line"] for kept in box(page)["lines"]]
    assert [line["clean"] for line in lines] == [True, False, True, False, True]
    assert [line["mono"] for line in lines] == sorted(line["mono"] for line in lines)
    killable.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    now = datetime.datetime.now(datetime.UTC)
    stored = list(Attempt.objects.order_by("done_at"))
    assert [one.clean for one in stored] == [True, False, True, False, True]
    first, last = stored[0].done_at, stored[-1].done_at
    taken = datetime.timedelta(milliseconds=lines[-1]["mono"] - lines[0]["mono"])
    # Each so long after the one before as the page's monotonic clock says.
    assert abs(last - first - taken) < datetime.timedelta(seconds=2)
    assert now - last < datetime.timedelta(minutes=1)
