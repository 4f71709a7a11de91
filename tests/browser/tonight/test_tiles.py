"""The tiles under a finger: a long press, tiles that stay put, ways that are not offered."""

import datetime

from django.utils import timezone
from playwright.sync_api import Page, expect

from progression.log.lines import digest_of
from progression.models import Attempt
from studio.models import Attendance, Meeting
from tests.support.browser.activity import idle, settle
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    choose,
    clean,
    not_clean,
    open_class,
    tile,
)
from tests.support.cast import Cast, make_child, time_ordered_id


def test_a_long_press_opens_the_child_and_logs_nothing(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    box = clean(page, "Mai").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 30, box["y"] + 30)
    page.mouse.down()
    expect(page.locator("#sheet-title")).to_contain_text("Mai")
    page.mouse.up()
    settle(page)
    page.locator("#sheet-close").tap()
    settle(page)
    clean(page, "Ilse").tap()
    all_sent(page)
    assert Attempt.objects.get().child == cast.ilse


def test_a_long_press_on_any_tile_leads_to_the_drills_card(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    for name in ("Mai", "Ilse"):
        box = clean(page, name).bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 30, box["y"] + 30)
        page.mouse.down()
        expect(page.locator("#sheet-title")).to_contain_text(name)
        page.mouse.up()
        settle(page)
        sheet = page.locator("#sheet")
        sheet.get_by_role("button", name="What counts").tap()
        expect(sheet.get_by_role("heading", name="Set-up", exact=True)).to_be_visible()
        page.locator("#sheet-close").tap()
        settle(page)
    assert not Attempt.objects.exists()


def test_eight_pixels_lie_between_clean_and_not_clean(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    one, other = clean(page, "Mai").bounding_box(), not_clean(page, "Mai").bounding_box()
    assert one is not None
    assert other is not None
    assert other["x"] - (one["x"] + one["width"]) >= 8


def test_a_whole_line_at_once_is_never_offered_where_somebody_spots(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    expect(page.locator("#way")).to_be_visible()
    choose(page, "#all-drills", "Back walkover")
    expect(page.locator("#way")).to_be_hidden()


def test_a_tile_does_not_move_under_a_finger_when_another_tablet_changes_who_is_here(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    make_child("Ada First", cast.blue)
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    for name in ("Ilse", "Mai"):
        page.locator(".roll-child", has_text=name).tap()
    page.get_by_role("button", name="On to 2 children").click()
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", "Swing and jump tall")
    all_sent(page)
    now = timezone.now()
    Attendance.objects.create(
        id=time_ordered_id(now + datetime.timedelta(seconds=1)),
        meeting=meeting,
        child=cast.blue.children.get(name="Ada First"),
        present=True,
        at=now,
        by=cast.tam,
        digest=digest_of("ada"),
    )
    page.evaluate(
        "globalThis.hand = setInterval(() => document.dispatchEvent(new Event('pointerdown')), 100)"
    )
    # A turn fetches the class again: the answer comes while the hand is on the tiles.
    with page.expect_response(lambda answer: "/pack" in answer.url):
        clean(page, "Mai").tap()
    idle(page)
    expect(page.locator(".tile")).to_have_count(2)
    page.evaluate("clearInterval(hand)")
    expect(tile(page, "Ada")).to_be_visible()
    expect(page.locator(".tile").first).to_contain_text("Ada")


def test_nothing_is_kept_at_zero(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Hollow hold")
    clean(page, "Mai").tap()
    page.keyboard.type("0")
    expect(page.locator("#sheet .btn.act.wide")).to_be_disabled()
