"""After a while without a touch, the next entry is asked about: whose is it?"""

import re

import pytest
from playwright.sync_api import Page, expect

from progression.models import Attempt
from readiness.models import Pain
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import (
    PIN,
    SignIn,
    all_sent,
    clean,
    not_clean,
    open_class,
    tile,
)
from tests.support.cast import Cast

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


@pytest.fixture
def idle_tablet(page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, tablet: None) -> Page:
    """Omar's floor, untouched for eleven minutes."""
    page.add_init_script(CLOCK)
    signed_in(cast.omar)
    open_class(page, meeting)
    page.evaluate("ahead = 11 * 60 * 1000")
    return page


def test_one_tap_goes_on_and_the_turn_that_was_meant_is_logged(idle_tablet: Page) -> None:
    clean(idle_tablet, "Mai").tap()
    expect(idle_tablet.locator("#sheet")).to_contain_text("Still Omar?")
    settle(idle_tablet)
    assert not Attempt.objects.exists()
    idle_tablet.get_by_role("button", name="Yes, Omar goes on").tap()
    settle(idle_tablet)
    clean(idle_tablet, "Ilse").tap()
    all_sent(idle_tablet)
    assert {turn.child.called for turn in Attempt.objects.all()} == {"Mai", "Ilse"}
    assert {turn.author.called for turn in Attempt.objects.all()} == {"Omar"}


def test_somebody_else_changes_over_and_says_whether_the_tap_was_theirs(
    idle_tablet: Page, meeting: Meeting
) -> None:
    clean(idle_tablet, "Mai").tap()
    settle(idle_tablet)
    idle_tablet.get_by_role("link", name="I am Tam").tap()
    for digit in PIN:
        idle_tablet.get_by_role("button", name=digit, exact=True).tap()
    idle_tablet.wait_for_url(re.compile(f"/floor/{meeting.uuid}$"))
    expect(idle_tablet.locator("#sheet")).to_contain_text("Mai, Swing and jump tall")
    settle(idle_tablet)
    idle_tablet.get_by_role("button", name="Yes, log it").tap()
    all_sent(idle_tablet)
    assert Attempt.objects.get().author.called == "Tam"


def test_nothing_urgent_is_asked_about(idle_tablet: Page, cast: Cast) -> None:
    idle_tablet.locator("#fall").tap()
    expect(idle_tablet.locator("#sheet")).to_contain_text("After a fall")
    idle_tablet.get_by_role("button", name="Close").tap()
    settle(idle_tablet)
    idle_tablet.locator("#hurt").tap()
    idle_tablet.locator("#sheet").get_by_role("button", name="Mai", exact=True).tap()
    settle(idle_tablet)
    idle_tablet.locator("#sheet").get_by_role("button", name="Wrist").tap()
    settle(idle_tablet)
    idle_tablet.get_by_role("button", name="Close").tap()
    settle(idle_tablet)
    not_clean(idle_tablet, "Ilse").tap()
    expect(idle_tablet.locator("#faults")).to_be_visible()
    idle_tablet.get_by_role("button", name="Done").tap()
    all_sent(idle_tablet)
    assert Pain.objects.get().child == cast.mai
    assert Attempt.objects.get().child == cast.ilse
    settle(idle_tablet)
    # It is asked before what can wait.
    tile(idle_tablet, "Ilse").locator(".tile-main").tap()
    expect(idle_tablet.locator("#sheet")).to_contain_text("Still Omar?")


def test_the_floor_opened_again_asks_as_well(idle_tablet: Page) -> None:
    idle_tablet.add_init_script("ahead = 11 * 60 * 1000")
    idle_tablet.reload()
    clean(idle_tablet, "Mai").tap()
    expect(idle_tablet.locator("#sheet")).to_contain_text("Still Omar?")


def test_on_a_device_of_ones_own_nothing_is_asked(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    page.add_init_script(CLOCK)
    signed_in(cast.omar)
    open_class(page, meeting)
    page.evaluate("ahead = 11 * 60 * 1000")
    clean(page, "Mai").tap()
    all_sent(page)
    assert Attempt.objects.count() == 1
