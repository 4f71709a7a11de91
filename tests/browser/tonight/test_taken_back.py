"""What was written down of the wrong child is taken back where it was written down."""

from playwright.sync_api import Page, expect

from progression.models import Strike
from readiness.models import Pain
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, open_class, tile
from tests.support.cast import Cast


def hurts(page: Page, name: str, place: str) -> None:
    page.locator("#hurt").tap()
    page.locator("#sheet").get_by_role("button", name=name, exact=True).tap()
    settle(page)
    page.locator("#sheet").get_by_role("button", name=place, exact=True).tap()
    settle(page)


def test_something_that_hurts_is_taken_back(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    hurts(page, "Mai", "Wrist")
    page.get_by_role("button", name="Written down wrongly?").tap()
    settle(page)
    page.locator("#sheet li", has_text="hurts: Wrist").get_by_role("button", name="Wrong tap").tap()
    expect(page.locator("#sheet li", has_text="hurts: Wrist")).to_have_count(0)
    page.get_by_role("button", name="Close").tap()
    expect(tile(page, "Mai")).not_to_contain_text("Wrist")
    all_sent(page)
    assert Strike.objects.get().attempt_id == Pain.objects.get().pk


def test_a_head_goes_to_the_right_child_and_shows_its_own_sentence(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    hurts(page, "Mai", "Head")
    expect(page.locator("#sheet")).to_contain_text("After a bump to the head: stop for today")
    page.get_by_role("button", name="Written down wrongly?").tap()
    settle(page)
    page.locator("#sheet li", has_text="Mai").get_by_role("button", name="Wrong child").tap()
    settle(page)
    expect(page.locator("#sheet")).to_contain_text("Head: whose is it?")
    page.locator("#sheet").get_by_role("button", name="Ilse").tap()
    expect(page.locator("#sheet li", has_text="Ilse")).to_contain_text("hurts: Head")
    expect(page.locator("#sheet li", has_text="Mai")).to_have_count(0)
    page.get_by_role("button", name="Close").tap()
    expect(tile(page, "Ilse")).to_contain_text("paused")
    expect(tile(page, "Mai")).not_to_contain_text("paused")
    all_sent(page)
    strike = Strike.objects.get()
    assert Pain.objects.get(pk=strike.attempt_id).child == cast.mai
    assert Pain.objects.exclude(pk=strike.attempt_id).get().child == cast.ilse


def test_a_pause_that_is_older_than_two_minutes_is_the_directors(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    page.clock.install()
    signed_in(cast.omar)
    open_class(page, meeting)
    hurts(page, "Mai", "Head")
    # An answer would tell the page what the server's clock says, which stands still.
    page.context.set_offline(True)
    page.clock.fast_forward(121_000)
    page.get_by_role("button", name="Written down wrongly?").tap()
    expect(page.locator("#sheet")).to_contain_text("A director lifts this pause.")
    expect(page.get_by_role("button", name="Wrong child")).to_have_count(0)
