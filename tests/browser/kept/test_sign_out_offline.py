"""Signing out without a network: the session ends with the first call that comes through."""

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import wait_until
from tests.support.browser.floor_taps import SignIn, all_sent, box, clean, open_class
from tests.support.browser.killable import Killable
from tests.support.cast import Cast

WAITING = "Entries that wait on this tablet to be sent: Omar 1."


def sign_out_offline(killable: Killable, page: Page, meeting: Meeting) -> None:
    """One turn waits; then Omar signs out on the page Tonight."""
    open_class(page, meeting)
    page.route("**/attempts", lambda route: route.abort())
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here, not sent yet")
    page.goto("/")
    expect(page.locator("#lines-here")).to_have_text(WAITING)
    killable.stop()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("alert")).to_contain_text("ends your sign-in as soon as there is")


def session_is_there(key: str) -> bool:
    return Session.objects.filter(pk=key).exists()


def test_the_session_ends_first_thing_when_the_network_is_back(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    key = signed_in(cast.omar)
    sign_out_offline(killable, page, meeting)
    expect(page.get_by_role("alert")).to_contain_text(WAITING)
    assert box(page)["packs"] == []
    assert session_is_there(key)
    killable.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_url("**/sign-in")
    wait_until(page, lambda: not session_is_there(key))
    expect(page.locator("#lines-here")).to_have_text(WAITING)
    assert "ended=" not in page.evaluate("document.cookie")
    assert len(box(page)["lines"]) == 1


@pytest.mark.parametrize("cookie", [True, False], ids=["by the cookie", "by the store alone"])
def test_it_ends_at_the_next_page_as_well_and_before_that_page_says_anything(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    cookie: bool,
) -> None:
    key = signed_in(cast.omar)
    sign_out_offline(killable, page, meeting)
    page.close()
    if not cookie:
        context.clear_cookies(name="ended")
    killable.start()
    later = context.new_page()
    packs: list[int] = []
    later.on("response", lambda each: packs.append(each.status) if "/pack?" in each.url else None)
    later.goto(f"/floor/{meeting.uuid}")
    if cookie:
        later.wait_for_url("**/sign-in?next=**")
        assert packs == []
    else:
        expect(later.locator("#trouble")).to_contain_text("Your sign-in has ended")
        assert set(packs) == {401}
    assert not session_is_there(key)


def test_a_newer_sign_in_is_not_touched(
    killable: Killable, context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast,
    meeting: Meeting,
) -> None:  # fmt: skip
    signed_in(cast.omar)
    sign_out_offline(killable, page, meeting)
    page.close()
    killable.start()
    newer = signed_in(cast.omar)
    later = context.new_page()
    later.goto(f"/floor/{meeting.uuid}")
    all_sent(later)
    assert session_is_there(newer)
    assert Attempt.objects.get().author == cast.omar
    assert "ended=" not in later.evaluate("document.cookie")
