"""A number typed on the pad or on hardware keys: seven and a half is 7,5 and 7.5."""

import pytest
from playwright.sync_api import Page, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, choose, clean, open_class
from tests.support.cast import Cast


@pytest.fixture
def pad(page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting) -> Page:
    """Mai's pad at a hold."""
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Hollow hold")
    clean(page, "Mai").tap()
    expect(page.locator("#sheet .number")).to_be_visible()
    settle(page)
    return page


@pytest.mark.parametrize("typed", ["7.5", "7,5"])
def test_seven_and_a_half_by_the_keys_of_a_keyboard(pad: Page, typed: str) -> None:
    pad.keyboard.type(typed)
    expect(pad.locator("#sheet .number")).to_have_text(typed)
    expect(pad.locator("#sheet .refused")).to_have_text("")
    pad.get_by_role("button", name="Keep 7.5", exact=True).tap()
    pad.get_by_role("button", name="Done").tap()
    all_sent(pad)
    assert Attempt.objects.get().value == 7.5


def test_tenths_by_the_pad(pad: Page) -> None:
    for key in ("1", "2", ".", "4"):
        pad.locator("#sheet .keys").get_by_role("button", name=key, exact=True).tap()
    pad.get_by_role("button", name="Keep 12.4", exact=True).tap()
    pad.get_by_role("button", name="Done").tap()
    all_sent(pad)
    assert Attempt.objects.get().value == 12.4


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("7x", "Write a number such as 7 or 7.5."),
        ("7.55", "Write tenths at most, such as 7.5."),
        ("99999", "At most"),
    ],
)
def test_anything_else_is_refused_beside_the_field_and_stays_typed(
    pad: Page, typed: str, why: str
) -> None:
    pad.keyboard.type(typed)
    expect(pad.locator("#sheet .number")).to_have_text(typed)
    expect(pad.locator("#sheet .refused")).to_contain_text(why)
    pad.keyboard.press("Enter")
    settle(pad)
    expect(pad.locator("#sheet .number")).to_have_text(typed)
    assert not Attempt.objects.exists()
