"""What one tablet of a class logs and the others must show at once."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from readiness.record.decisions import pause
from studio.models import Meeting
from tests.support.browser.floor_taps import (
    SOON,
    SignIn,
    all_sent,
    choose,
    clean,
    not_clean,
    open_class,
    tile,
)
from tests.support.cast import Cast


@pytest.fixture
def signed_in_first(signed_in: SignIn, cast: Cast) -> None:
    signed_in(cast.omar)


def look_on(other: Page, meeting: Meeting) -> None:
    other.goto(f"/floor/{meeting.uuid}")
    expect(clean(other, "Mai")).to_be_visible()
    choose(other, "#surface", "spring floor")
    choose(other, "#all-drills", "Kick to handstand")


def test_a_stop_sign_on_one_tablet_is_on_the_other_with_its_next_question(
    page: Page, signed_in_first: None, other: Page, meeting: Meeting
) -> None:
    open_class(page, meeting)
    choose(page, "#all-drills", "Kick to handstand")
    look_on(other, meeting)
    before = tile(other, "Mai").inner_text()
    not_clean(page, "Mai").tap()
    page.get_by_role("button", name="Caught or lifted by the spotter").tap()
    page.locator("#faults").get_by_role("button", name="Done").tap()
    all_sent(page)
    expect(tile(other, "Mai")).not_to_have_text(before, use_inner_text=True, timeout=SOON)


def test_a_pause_written_at_the_desk_is_on_the_tablets_of_the_class(
    page: Page, signed_in_first: None, cast: Cast, meeting: Meeting
) -> None:
    open_class(page, meeting)
    pause(cast.mai, cast.petra, timezone.now(), "A knock on the head.")
    expect(tile(page, "Mai")).to_contain_text("paused", timeout=SOON)


def test_without_a_network_the_question_waits_and_nobody_is_told(
    page: Page, signed_in_first: None, cast: Cast, meeting: Meeting
) -> None:
    open_class(page, meeting)
    page.route("**/since?*", lambda route: route.abort())
    with page.expect_event("requestfailed", lambda request: "/since?" in request.url):
        pass
    all_sent(page)
    page.unroute("**/since?*")
    pause(cast.mai, cast.petra, timezone.now(), "A knock on the head.")
    expect(tile(page, "Mai")).to_contain_text("paused", timeout=SOON)
