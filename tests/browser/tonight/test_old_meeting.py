"""A class of an earlier day is never taken for today's."""

import datetime

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, clean, open_class
from tests.support.cast import Cast

WEEK = datetime.timedelta(days=7)

# The page's wall clock, which a test can set forward.
CLOCK = """(() => {
    const Plain = Date;
    globalThis.ahead = 0;
    globalThis.Date = class extends Plain {
        constructor(...parts) {
            if (parts.length === 0) super(Plain.now() + ahead);
            else super(...parts);
        }
        static now() { return Plain.now() + ahead; }
    };
})()"""


def written(day: datetime.date) -> str:
    return f"{day.day} {day:%b}" if day.month != 9 else f"{day.day} Sept"


@pytest.fixture
def old(cast: Cast) -> Meeting:
    """Last week's meeting of the blue class, which meets today as well."""
    today = cast.hall.day_of(timezone.now())
    cast.blue.weekday = today.weekday()
    cast.blue.save(update_fields=["weekday"])
    made = Meeting.objects.create(group=cast.blue, date=today - WEEK, starts_at=cast.blue.starts_at)
    made.staff.set([cast.omar])
    return made


def test_the_bar_shows_the_date_and_who_is_signed_in(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#title")).to_contain_text(written(meeting.date))
    expect(page.locator("#signed-in")).to_contain_text("Omar")
    expect(page.locator("#over")).to_be_hidden()


def test_a_class_that_is_over_says_so_and_leads_to_todays_in_one_tap(
    page: Page, signed_in: SignIn, cast: Cast, old: Meeting
) -> None:
    signed_in(cast.omar)
    page.goto(f"/floor/{old.uuid}")
    expect(page.locator("#over")).to_contain_text(f"{written(old.date)}. It is over.")
    for hidden in ("#tiles", "#before", "#roll", "#foot"):
        expect(page.locator(hidden)).to_be_hidden()
    page.get_by_role("button", name="After a fall").tap()
    expect(page.locator("#sheet")).to_contain_text("call 112")
    page.get_by_role("button", name="Close").tap()
    settle(page)
    page.get_by_role("button", name="Today: Blue").tap()
    page.wait_for_url(lambda url: "/floor/" in url and str(old.uuid) not in url)
    today = Meeting.objects.exclude(pk__in=[old.pk, cast.meeting.pk]).get()
    assert page.url.endswith(f"/floor/{today.uuid}")
    expect(page.locator("#title")).to_contain_text(written(today.date))


def test_late_turns_are_logged_after_a_tap_that_names_the_day_and_are_flagged(
    page: Page, signed_in: SignIn, cast: Cast, old: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, old, late=True)
    expect(page.locator("#over")).to_contain_text("not for today")
    clean(page, "Mai").tap()
    all_sent(page)
    stored = Attempt.objects.get()
    assert (stored.day, stored.flags) == (old.date, ["after-its-day"])


def test_a_page_that_stays_open_overnight_asks_before_it_logs(
    page: Page, context: BrowserContext, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    page.add_init_script(CLOCK)
    signed_in(cast.omar)
    open_class(page, meeting)
    context.set_offline(True)
    page.evaluate("ahead = 24 * 3600 * 1000")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator("#over")).to_contain_text("It is over.")
    expect(page.locator("#tiles")).to_be_hidden()
    assert page.locator("#change-over").get_attribute("href").endswith("/change-over?next=%2F")
