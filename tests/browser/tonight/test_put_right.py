"""The evening's turns put right later: struck, or logged again; undone as deep as the evening."""

import datetime

from playwright.sync_api import Locator, Page, expect

from progression.models import Attempt, Strike
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    choose,
    clean,
    not_clean,
    open_class,
    tile,
)
from tests.support.cast import Cast


def turns_of(page: Page, by: str, name: str) -> Locator:
    """The sheet with the evening's turns of one child or at one drill."""
    page.locator("#last-turns").tap()
    settle(page)
    sheet = page.locator("#sheet")
    sheet.get_by_role("button", name=by, exact=True).tap()
    settle(page)
    sheet.get_by_role("button", name=name, exact=True).tap()
    settle(page)
    return sheet


def close(page: Page) -> None:
    page.locator("#sheet-close").tap()
    settle(page)


def standing() -> list[Attempt]:
    """The turns that are not struck, by id."""
    struck = Strike.objects.values("attempt_id")
    return list(Attempt.objects.exclude(pk__in=struck).select_related("drill").order_by("pk"))


def test_a_turn_of_before_a_reload_is_logged_again_with_another_child_at_its_old_time(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    clean(page, "Mai").tap()
    all_sent(page)
    page.reload()
    expect(tile(page, "Mai").locator(".mark")).to_have_count(1)
    sheet = turns_of(page, "By child", "Mai")
    sheet.get_by_role("button", name="Log again").tap()
    settle(page)
    sheet.get_by_role("button", name="Ilse", exact=True).tap()
    settle(page)
    close(page)
    expect(tile(page, "Mai").locator(".mark")).to_have_count(0)
    expect(tile(page, "Ilse").locator(".mark")).to_have_count(1)
    all_sent(page)
    was = Attempt.objects.get(child=cast.mai)
    strike = Strike.objects.get()
    assert (strike.attempt_id, strike.code) == (was.pk, "wrong-child")
    [now] = standing()
    assert (now.child, now.drill, now.clean, now.support) == (
        cast.ilse,
        was.drill,
        True,
        was.support,
    )
    assert abs(now.done_at - was.done_at) < datetime.timedelta(seconds=1)


def test_a_fault_a_support_and_a_drill_are_put_right_without_a_network(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Kick to handstand")
    page.context.set_offline(True)
    clean(page, "Mai").tap()
    settle(page)
    sheet = turns_of(page, "By drill", "Kick to handstand")
    for name in ("light touch", "Caught or lifted by the spotter"):
        sheet.get_by_role("button", name="Log again").tap()
        settle(page)
        sheet.get_by_role("button", name=name, exact=True).tap()
        settle(page)
    expect(sheet.locator(".what")).to_contain_text("not clean, caught")
    expect(sheet.locator(".what")).to_contain_text("light touch")
    close(page)
    page.context.set_offline(False)
    all_sent(page)
    [now] = standing()
    assert (now.child, now.support, now.caught, now.clean) == (cast.mai, 2, True, False)
    assert Strike.objects.count() == 2
    sheet = turns_of(page, "By child", "Mai")
    sheet.get_by_role("button", name="Log again").tap()
    settle(page)
    sheet.get_by_role("button", name="Swing and jump tall", exact=True).tap()
    settle(page)
    close(page)
    all_sent(page)
    [now] = standing()
    assert (now.drill.key, now.clean, now.support) == ("swing-jump", False, 0)


def test_undo_goes_back_through_the_evening_after_a_reload_as_well(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    clean(page, "Mai").tap()
    settle(page)
    not_clean(page, "Ilse").tap()
    settle(page)
    page.locator("#faults").get_by_role("button", name="Done").tap()
    settle(page)
    page.get_by_role("button", name="All clean but").tap()
    settle(page)
    page.get_by_role("button", name="Log: clean 2, not clean 0").tap()
    all_sent(page)
    page.reload()
    undo = page.locator("#undo")
    for words in ("Undo · 2 turns at once", "Undo · Ilse: not clean", "Undo · Mai: clean"):
        expect(undo).to_have_text(words)
        undo.tap()
        settle(page)
    expect(undo).to_have_text("Nothing to undo")
    all_sent(page)
    assert (Attempt.objects.count(), standing()) == (4, [])


def test_what_somebody_else_logged_is_struck_by_a_coach_and_logged_again_by_nobody(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.tam)
    open_class(page, meeting)
    clean(page, "Mai").tap()
    all_sent(page)
    signed_in(cast.omar)
    page.reload()
    expect(tile(page, "Mai").locator(".mark")).to_have_count(1)
    expect(page.locator("#undo")).to_have_text("Nothing to undo")
    sheet = turns_of(page, "By child", "Mai")
    expect(sheet).to_contain_text("logged by somebody else")
    expect(sheet.get_by_role("button", name="Log again")).to_have_count(0)
    sheet.get_by_role("button", name="Wrong tap").tap()
    settle(page)
    close(page)
    all_sent(page)
    assert Strike.objects.get().by == cast.omar
    clean(page, "Ilse").tap()
    all_sent(page)
    signed_in(cast.tam)
    page.reload()
    expect(tile(page, "Ilse").locator(".mark")).to_have_count(1)
    sheet = turns_of(page, "By child", "Ilse")
    expect(sheet.locator(".rows button")).to_have_count(0)
