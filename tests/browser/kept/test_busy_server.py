"""A server that is too busy to make a pack: the page goes on with what it has, and asks later."""

import json

from playwright.sync_api import Page, Route, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import settle, wait_until
from tests.support.browser.floor_taps import SignIn, all_sent, clean, open_class
from tests.support.cast import Cast

PACKS = "**/pack?*"


def busy(route: Route) -> None:
    """As studio/error_views.py answers."""
    said = json.dumps({"error": "busy", "sentence": "The server is busy."})
    route.fulfill(status=503, content_type="application/json", body=said)


def test_a_class_opens_once_the_server_has_time(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    page.route(PACKS, busy, times=2)
    open_class(page, meeting)
    expect(page.locator(".tile")).to_have_count(2)


def test_turns_are_logged_and_sent_meanwhile_and_nothing_is_said_to_be_wrong(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    turned_away = []

    def count(route: Route) -> None:
        turned_away.append(route)
        busy(route)

    page.route(PACKS, count)
    for _turn in range(3):
        clean(page, "Mai").tap()
        settle(page)
    all_sent(page)
    assert Attempt.objects.count() == 3
    wait_until(page, lambda: len(turned_away) > 0)
    expect(page.locator("#trouble")).to_be_hidden()
    expect(page.locator(".tile")).to_have_count(2)
    page.unroute(PACKS)
    with page.expect_response(PACKS) as found:
        pass
    assert found.value.status == 200
