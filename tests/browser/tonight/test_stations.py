"""Turns tonight on each tile, and two coaches at one class, each with own children and drill."""

from collections.abc import Iterator

import pytest
from django.test import Client
from playwright.sync_api import Browser, Locator, Page, expect

from progression.models import Attempt
from studio.models import Meeting
from studio.sign_in.owner_cookie import COOKIE
from tests.support.browser.activity import WATCH, settle
from tests.support.browser.chromium import PATIENCE, TABLET
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    choose,
    clean,
    open_class,
    tile,
)
from tests.support.cast import Cast


def tally(page: Page, name: str) -> Locator:
    return tile(page, name).locator(".turns-tonight")


def names(page: Page) -> list[str]:
    return page.locator(".tile .name").all_inner_texts()


def choose_in(page: Page, words: str) -> None:
    page.locator("#tonight").tap()
    settle(page)
    page.locator("#sheet").get_by_role("button", name=words, exact=True).tap()
    settle(page)


@pytest.fixture
def tams(browser: Browser, cast: Cast, home: str) -> Iterator[Page]:
    """Tam's own tablet."""
    client = Client()
    client.force_login(cast.tam)
    made = browser.new_context(base_url=home, viewport=TABLET, has_touch=True)
    made.set_default_timeout(PATIENCE)
    made.add_init_script(WATCH)
    key = client.cookies["sessionid"].value
    made.add_cookies([{"name": "sessionid", "value": key, "url": home}])
    made.add_cookies([{"name": COOKIE, "value": str(cast.tam.uuid), "url": home}])
    yield made.new_page()
    made.close()


def test_each_tile_tells_the_turns_at_this_drill_and_tonight_and_one_tap_who_had_none(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    expect(page.locator("#tonight")).to_have_text("2 without a turn")
    expect(tally(page, "Mai")).to_have_text("none tonight")
    clean(page, "Ilse").tap()
    settle(page)
    clean(page, "Ilse").tap()
    settle(page)
    choose(page, "#all-drills", "Kick to handstand")
    clean(page, "Ilse").tap()
    expect(tally(page, "Ilse")).to_have_text("1 of 3 tonight")
    settle(page)
    page.locator("#tonight").tap()
    none, none_here = page.locator("#sheet section").all()
    expect(none).to_contain_text("Mai")
    expect(none).not_to_contain_text("Ilse")
    expect(none_here).to_contain_text("Mai")
    page.get_by_role("button", name="Close").tap()
    all_sent(page)
    page.get_by_role("button", name="Undo").tap()
    expect(tally(page, "Ilse")).to_have_text("0 of 2 tonight")


def test_the_fewest_turns_stand_first_when_asked_and_stay_there_until_asked_again(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    assert names(page) == ["Ilse", "Mai"]
    clean(page, "Ilse").tap()
    settle(page)
    choose_in(page, "Fewest turns first")
    assert names(page) == ["Mai", "Ilse"]
    for _turn in range(2):
        clean(page, "Mai").tap()
        settle(page)
    expect(tally(page, "Mai")).to_have_text("2 of 2 tonight")
    assert names(page) == ["Mai", "Ilse"]
    page.reload()
    expect(tile(page, "Mai")).to_be_visible()
    assert names(page) == ["Mai", "Ilse"]
    settle(page)
    choose_in(page, "Fewest turns first")
    assert names(page) == ["Ilse", "Mai"]


def test_two_coaches_have_own_children_and_drills_and_nothing_clashes(
    page: Page, signed_in: SignIn, tams: Page, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose_in(page, "Mai")
    page.get_by_role("button", name="Close").tap()
    settle(page)
    assert names(page) == ["Mai"]
    expect(page.locator("#tonight")).to_have_text("My line: 1 of 2 · 1 without a turn")
    tams.goto(f"/floor/{meeting.uuid}")
    expect(tile(tams, "Mai")).to_be_visible()
    settle(tams)
    choose(tams, "#surface", "spring floor")
    choose(tams, "#all-drills", "Kick to handstand")
    choose_in(tams, "Ilse")
    tams.get_by_role("button", name="Close").tap()
    settle(tams)
    assert names(tams) == ["Ilse"]
    clean(tams, "Ilse").tap()
    page.get_by_role("button", name="All clean but").tap()
    expect(page.locator("#sheet .in-line")).to_have_count(1)
    settle(page)
    page.locator("#sheet").get_by_role("button", name="Log").tap()
    all_sent(page)
    all_sent(tams)
    logged = set(Attempt.objects.values_list("child__name", "drill__key", "author__username"))
    assert {(child.split()[0], author) for child, _, author in logged} == {
        ("Mai", "omar"),
        ("Ilse", "tam"),
    }
    assert len({drill for _, drill, _ in logged}) == 2
    # Kept on the tablet; one tap shows everybody again.
    page.reload()
    expect(tile(page, "Mai")).to_be_visible()
    assert names(page) == ["Mai"]
    settle(page)
    choose_in(page, "Everybody")
    assert names(page) == ["Ilse", "Mai"]
