"""Less support than the tablet shows: a reason is for one turn, and asked each time."""

import datetime

from playwright.sync_api import Page, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, choose, clean, open_class, tile
from tests.support.cast import Cast
from tests.support.ready import place_at


def test_the_reason_ends_with_its_turn(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    place_at(cast, cast.mai, 3, meeting.date - datetime.timedelta(days=10))
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Back walkover")
    support = tile(page, "Mai").locator(".tile-support")
    for _turn in range(2):
        expect(support).to_contain_text("hands-on")
        support.tap()
        settle(page)
        page.locator("#sheet").get_by_role("button", name="light touch").tap()
        settle(page)
        page.get_by_role("button", name="I saw it and judged it right").tap()
        settle(page)
        expect(support).to_contain_text("light touch")
        clean(page, "Mai").tap()
        settle(page)
    expect(support).to_contain_text("hands-on")
    clean(page, "Mai").tap()
    all_sent(page)
    turns = Attempt.objects.order_by("pk").values_list("support", "less_reason")
    assert list(turns) == [(2, "judged-right"), (2, "judged-right"), (3, "")]
