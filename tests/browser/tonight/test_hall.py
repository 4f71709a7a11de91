"""What the floor says of the hall and of numbers: words that a coach would say aloud."""

import datetime
import re

from playwright.sync_api import Locator, Page, expect

from progression.models import Attempt
from readiness.models import HallReport
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import (
    SOON,
    SignIn,
    all_sent,
    choose,
    clean,
    open_class,
    open_floor,
    tile,
)
from tests.support.cast import Cast
from tests.support.ready import place_at

HOLD = "Hollow hold"
HELD = "Back walkover"


def type_seconds(page: Page, name: str, digits: str) -> None:
    clean(page, name).tap()
    page.keyboard.type(digits)
    page.locator("#sheet .btn.act.wide").first.click()
    page.locator("#faults").get_by_role("button", name="Done").click()
    settle(page)
    all_sent(page)


def progress_of(page: Page, name: str) -> Locator:
    return tile(page, name).locator(".progress-words")


def test_a_value_that_is_reached_on_too_few_days_says_on_how_many(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", HOLD)
    type_seconds(page, "Mai", "12")
    expect(progress_of(page, "Mai")).to_have_text("best 12 of 15")
    type_seconds(page, "Mai", "15")
    expect(progress_of(page, "Mai")).to_have_text("best 15 of 15 on 1 of 2 days")
    type_seconds(page, "Mai", "16")
    expect(progress_of(page, "Mai")).to_have_text("reached 15 of 15 on 1 of 2 days")
    page.locator("#about").tap()
    page.locator("#sheet").get_by_role("button", name="Mai", exact=True).tap()
    expect(page.locator("#sheet")).to_contain_text(re.compile(r"15.* on 1 of 2 days"))


def test_the_hold_clock_stands_in_the_tiles_columns_with_what_is_asked_and_the_best(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, HOLD)
    type_seconds(page, "Mai", "12")
    for size in ((1180, 820), (1024, 768), (820, 1180)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        tiles = places(page, ".tile")
        page.get_by_role("button", name="Hold clock").click()
        expect(page.locator(".held")).to_have_count(30)
        assert places(page, ".held") == tiles
        expect(page.locator(".held", has_text="Mai").locator(".target")).to_have_text(
            "best 12 of 15"
        )
        page.locator("#hold").get_by_role("button", name="Back").click()
        settle(page)


def places(page: Page, each: str) -> list[tuple[str, int]]:
    """Whose, and how far from the side."""
    found = page.locator(each).evaluate_all(
        "all => all.map(one => [one.dataset.child, one.getBoundingClientRect().left])"
    )
    return [(child, round(left)) for child, left in found]


def hears(other: Page, meeting: Meeting, drill: str) -> None:
    """A second tablet of the class, at a drill."""
    other.goto(f"/floor/{meeting.uuid}")
    expect(clean(other, "Mai")).to_be_visible()
    choose(other, "#surface", "spring floor")
    choose(other, "#all-drills", drill)


def test_spotter_gone_closes_what_is_held_on_every_tablet_until_the_spotter_is_back(
    page: Page, signed_in: SignIn, cast: Cast, other: Page, meeting: Meeting
) -> None:
    place_at(cast, cast.mai, 3, meeting.date - datetime.timedelta(days=10))
    signed_in(cast.omar)
    other.context.add_cookies(page.context.cookies())
    open_class(page, meeting)
    hears(other, meeting, HELD)
    page.locator("#spotter").tap()
    # What nobody holds goes on with one tap.
    settle(page)
    clean(page, "Mai").tap()
    all_sent(page)
    assert Attempt.objects.get().drill.key == "swing-jump"
    choose(page, "#all-drills", HELD)
    expect(tile(page, "Mai")).to_contain_text("no spotter")
    clean(page, "Mai").tap()
    expect(page.locator("#sheet")).to_contain_text("The spotter is gone")
    page.locator("#sheet-close").tap()
    settle(page)
    expect(tile(other, "Mai")).to_contain_text("no spotter", timeout=SOON)
    expect(other.locator("#notes")).to_contain_text("The spotter is gone since")
    expect(other.locator("#notes")).to_contain_text("Omar")
    other.get_by_role("button", name="Spotter is back").tap()
    expect(tile(other, "Mai")).not_to_contain_text("no spotter")
    expect(tile(page, "Mai")).not_to_contain_text("no spotter", timeout=SOON)
    expect(page.locator("#spotter")).to_have_text("Spotter gone")
    all_sent(other)
    kinds = HallReport.objects.order_by("at").values_list("kind", flat=True)
    assert list(kinds) == ["spotter-gone", "spotter-back"]


def test_spotter_gone_and_a_broken_mat_hold_without_a_network_and_over_a_reload(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    place_at(cast, cast.mai, 3, meeting.date - datetime.timedelta(days=10))
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", HELD)
    page.context.set_offline(True)
    page.locator("#spotter").tap()
    expect(tile(page, "Mai")).to_contain_text("no spotter")
    broken(page, "Air floor")
    page.reload()
    expect(tile(page, "Mai")).to_contain_text("no spotter")
    page.locator("#surface").tap()
    expect(page.locator("#sheet")).to_contain_text("Air floor: broken, out of use since")
    page.locator("#sheet-close").tap()
    assert HallReport.objects.count() == 0
    page.context.set_offline(False)
    all_sent(page)
    kinds = HallReport.objects.order_by("at").values_list("kind", "surface")
    assert list(kinds) == [("spotter-gone", ""), ("mat-broken", "air-floor")]


def broken(page: Page, surface: str) -> None:
    page.locator("#surface").tap()
    settle(page)
    sheet = page.locator("#sheet")
    sheet.get_by_role("button", name="A mat is broken").tap()
    settle(page)
    sheet.get_by_role("button", name=surface).tap()
    expect(sheet).to_contain_text(f"{surface}: broken, out of use since")
    settle(page)
    page.locator("#sheet-close").tap()
    settle(page)


def test_a_broken_mat_is_out_of_use_on_every_tablet_until_somebody_says_it_is_mended(
    page: Page, signed_in: SignIn, cast: Cast, other: Page, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    other.context.add_cookies(page.context.cookies())
    open_class(page, meeting)
    hears(other, meeting, "Swing and jump tall")
    broken(page, "Spring floor")
    for tablet in (page, other):
        expect(tablet.locator("#surface")).to_contain_text("Choose", timeout=SOON)
        # No turn is logged on it: the tap asks for the floor.
        clean(tablet, "Mai").tap()
        out = tablet.locator("#sheet").get_by_role("button", name="Spring floor out of use")
        expect(out).to_be_disabled()
    assert Attempt.objects.count() == 0
    settle(other)
    other.locator("#sheet").get_by_role("button", name="Mended").tap()
    option = other.locator("#sheet").get_by_role("button", name="Spring floor", exact=True)
    expect(option).to_be_enabled()
    settle(other)
    option.tap()
    settle(other)
    clean(other, "Mai").tap()
    all_sent(other)
    assert Attempt.objects.get().surface.key == "spring-floor"


def test_one_tap_says_that_the_mats_were_looked_at_and_by_whom(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.tam)
    page.goto(f"/floor/{meeting.uuid}")
    before = page.locator("#before")
    expect(before).to_contain_text("Nobody has looked at the mats yet.")
    before.get_by_role("button", name="Mats looked at").tap()
    expect(before).to_contain_text(re.compile(r"The mats were looked at, \S+( [AP]M)?: Tam"))
    all_sent(page)
    said = HallReport.objects.get()
    assert (said.kind, said.by) == ("mats-looked-at", cast.tam)


def test_who_was_not_clean_in_a_line_can_be_given_what_was_seen_and_keeps_it_over_a_reload(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Hollow-arch log roll")
    page.get_by_role("button", name="All clean but").tap()
    settle(page)
    sheet = page.locator("#sheet")
    expect(sheet.locator(".line-seen")).to_be_hidden()
    sheet.locator(".in-line", has_text="Mai").tap()
    expect(sheet.locator(".line-seen")).to_contain_text("Mai: what was seen?")
    faults = sheet.locator(".line-seen .btn[data-fault]")
    key, words = faults.first.get_attribute("data-fault"), faults.first.inner_text()
    settle(page)
    faults.first.tap()
    expect(sheet.locator(".in-line", has_text="Mai")).to_contain_text(words)
    settle(page)
    page.reload()
    expect(sheet.locator(".in-line", has_text="Mai")).to_contain_text(words)
    settle(page)
    sheet.get_by_role("button", name="Log: clean 1, not clean 1").tap()
    all_sent(page)
    logged = {turn.child.called: (turn.clean, turn.faults) for turn in Attempt.objects.all()}
    assert logged == {"Mai": (False, [key]), "Ilse": (True, [])}
