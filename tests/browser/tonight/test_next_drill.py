"""A fault that comes back: the drill that mends it in one tap, and back to the line's in one."""

from collections.abc import Iterable

import pytest
from playwright.sync_api import Locator, Page, expect

from progression.models import Attempt
from studio.models import Child, Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    clean,
    not_clean,
    open_class,
    open_floor,
    tile,
)
from tests.support.browser.killable import Killable
from tests.support.cast import Cast

SITS_LOW = "squats"
LINE, MEND = "Swing and jump tall", "The sit, hands held"
TOO_SMALL_OR_CUT = """(tile) => [...tile.querySelectorAll("button")].filter((one) => {
    const { width, height } = one.getBoundingClientRect();
    const cut = one.scrollHeight > one.clientHeight + 1 || one.scrollWidth > one.clientWidth + 1;
    return width > 0 && (Math.min(width, height) < 63.9 || cut);
}).map((one) => one.textContent)"""


def show(page: Page, name: str, fault: str = SITS_LOW) -> None:
    not_clean(page, name).tap()
    settle(page)
    page.locator(f'.fault[data-fault="{fault}"]').tap()
    settle(page)


def next_of(page: Page, name: str) -> Locator:
    return tile(page, name).locator(".tile-next")


def places(page: Page) -> list[list[int]]:
    """Of all tiles, wherever the page is scrolled to: a tap may scroll it."""
    return page.locator(".tile").evaluate_all(
        "tiles => tiles.map(t => [t.offsetLeft, t.offsetTop, t.offsetWidth, t.offsetHeight])"
    )


def logged(child: Child) -> list[tuple[str, bool | None, float | None, Iterable[str]]]:
    turns = Attempt.objects.filter(child=child).order_by("done_at")
    return list(turns.values_list("drill__key", "clean", "value", "faults"))


def test_from_a_second_equal_fault_to_the_drill_that_mends_it_and_back(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    before = places(page)
    show(page, "Mai")
    clean(page, "Ilse").tap()
    settle(page)
    expect(next_of(page, "Mai")).to_be_hidden()
    show(page, "Mai")
    expect(next_of(page, "Mai")).to_contain_text(f"{MEND} next")
    expect(next_of(page, "Ilse")).to_be_hidden()
    assert places(page) == before
    page.locator("#faults").get_by_role("button", name="Done").tap()
    all_sent(page)

    killable.stop()
    page.reload()
    expect(next_of(page, "Mai")).to_contain_text(f"{MEND} next")
    settle(page)
    next_of(page, "Mai").tap()
    expect(next_of(page, "Mai")).to_contain_text(f"{LINE} again")
    expect(page.locator("#strip [aria-pressed=true]")).to_contain_text(LINE)
    settle(page)
    page.reload()
    expect(tile(page, "Mai")).to_contain_text(MEND)
    settle(page)
    clean(page, "Mai").tap()
    settle(page)
    page.locator(".pose", has_text="without the hands the child would fall").tap()
    settle(page)
    clean(page, "Ilse").tap()
    settle(page)
    next_of(page, "Mai").tap()
    expect(next_of(page, "Mai")).to_be_hidden()
    settle(page)
    clean(page, "Mai").tap()
    settle(page)

    killable.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    low = ("swing-jump", False, None, [SITS_LOW])
    assert logged(cast.mai) == [
        low,
        low,
        ("sit-depth", None, 3, []),
        ("swing-jump", True, None, []),
    ]
    assert logged(cast.ilse) == [("swing-jump", True, None, [])] * 2


def test_a_struck_turn_takes_the_offer_away(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    for _turn in range(2):
        show(page, "Mai")
    expect(next_of(page, "Mai")).to_be_visible()
    page.locator("#faults").get_by_role("button", name="Undo").tap()
    expect(next_of(page, "Mai")).to_be_hidden()


def test_a_child_at_another_drill_is_left_out_of_the_line_until_the_line_moves_on(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    for _turn in range(2):
        show(page, "Mai")
    next_of(page, "Mai").tap()
    settle(page)
    page.locator("#way").tap()
    expect(page.locator("#sheet .left-out")).to_contain_text("Mai")
    expect(page.locator("#sheet .in-line")).to_have_count(1)
    page.locator("#sheet-close").tap()
    settle(page)
    page.locator("#strip .choice:visible").filter(has_not_text=LINE).first.tap()
    expect(next_of(page, "Mai")).to_be_hidden()
    settle(page)
    page.locator("#strip .choice", has_text=LINE).tap()
    expect(next_of(page, "Mai")).to_be_hidden()


@pytest.mark.parametrize(
    ("size", "drill", "fault"),
    [
        ((1180, 820), "Kick to handstand", "hands-step"),
        ((820, 1180), LINE, SITS_LOW),
        ((390, 844), "Kick to handstand", "hands-step"),
    ],
)
def test_the_offer_and_the_way_back_have_room_on_the_smallest_tiles(
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    thirty: Meeting,
    size: tuple[int, int],
    drill: str,
    fault: str,
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    signed_in(cast.omar)
    open_floor(page, thirty, drill)
    before = places(page)
    for _turn in range(2):
        show(page, "Ada", fault)
    page.locator("#faults").get_by_role("button", name="Done").tap()
    expect(next_of(page, "Ada")).to_be_visible()
    assert places(page) == before
    assert tile(page, "Ada").evaluate(TOO_SMALL_OR_CUT) == []
    settle(page)
    next_of(page, "Ada").tap()
    expect(next_of(page, "Ada")).to_contain_text("again")
    assert places(page) == before
    assert tile(page, "Ada").evaluate(TOO_SMALL_OR_CUT) == []
