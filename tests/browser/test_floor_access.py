"""The floor page is large, readable and free of barriers in each of its states.

Rules: WCAG 2.2, levels A and AA, as axe-core checks them. Targets of 64 CSS pixels and text of
16 are the project's own rule; WCAG 2.2 asks for 24 (success criterion 2.5.8).
"""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Page, expect

from studio.models import Meeting, Staff
from tests.support.browser.activity import settle
from tests.support.browser.barriers import COLOURS, barriers
from tests.support.browser.floor_taps import choose, open_floor, tile
from tests.support.cast import Cast

SignIn = Callable[[Staff], str]
Size = tuple[int, int]

SIZES = [(1180, 820), (820, 1180), (390, 844)]
LEAST_TARGET = 64
LEAST_TEXT = 16

SMALL_TARGETS = """
    (least) => [...document.querySelectorAll("button, a, input, select")].filter((one) => {
        const box = one.getBoundingClientRect();
        return one.checkVisibility() && box.width > 0
            && (box.width < least - 0.1 || box.height < least - 0.1);
    }).map((one) => [one.className, one.textContent.slice(0, 30)])
"""
SMALL_TEXT = """
    (least) => [...document.body.querySelectorAll("*")].filter((one) => {
        const says = [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
        return says && one.checkVisibility() && parseFloat(getComputedStyle(one).fontSize) < least;
    }).map((one) => one.textContent.slice(0, 30))
"""
UNNAMED = """
    () => [...document.querySelectorAll("button, a")].filter((one) => one.checkVisibility()
        && !(one.getAttribute("aria-label") ?? one.textContent).trim()
        && !one.querySelector("img[alt]")).map((one) => one.outerHTML)
"""


def states(page: Page, meeting: Meeting) -> Iterator[str]:
    """Walk through the page; stop at each state for a look."""
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#before")).to_be_visible()
    yield "before class"
    page.get_by_role("button", name="On to who is here").click()
    settle(page)
    yield "who is here"
    open_floor(page, meeting, "Kick to handstand")
    yield "tiles of a clean drill with support"
    tile(page, "Mai").locator(".tile-miss").click()
    expect(page.locator("#faults")).to_be_visible()
    yield "faults"
    page.locator("#faults .stops .fault").first.click()
    settle(page)
    yield "faults with a stop sign"
    page.get_by_role("button", name="Done", exact=True).click()
    settle(page)
    yield from sheets(page)
    page.locator("#way").click()
    page.locator(".in-line").nth(4).click()
    yield "whole line"
    close(page)
    choose(page, "#all-drills", "Bridge rocks")
    tile(page, "Mai").locator(".tile-main").click()
    page.locator(".plus").click()
    yield "rep counter"
    close(page)
    for drill in ("The sit, hands held", "Bridge line"):
        choose(page, "#all-drills", drill)
        tile(page, "Mai").locator(".tile-main").click()
        yield f"grades of {drill}"
        close(page)
    yield from hold_clock(page)


def sheets(page: Page) -> Iterator[str]:
    for opener in ("#surface", "#all-drills", "#last-turns", "#hurt", "#fall"):
        page.locator(opener).click()
        settle(page)
        yield f"sheet of {opener}"
        close(page)
    page.locator("#about").click()
    page.locator("#sheet").get_by_role("button", name="Noor").click()
    settle(page)
    yield "one child"
    close(page)


def hold_clock(page: Page) -> Iterator[str]:
    choose(page, "#all-drills", "Hollow hold")
    tile(page, "Mai").locator(".tile-main").click()
    settle(page)
    yield "seconds by number"
    close(page)
    page.locator("#way").click()
    page.locator(".held").nth(3).click()
    settle(page)
    yield "hold clock, ready"
    page.get_by_role("button", name="Start", exact=True).click()
    page.locator(".held").nth(2).click()
    settle(page)
    yield "hold clock, running"
    page.evaluate("() => { const now = Date.now; Date.now = () => now() + 3_600_000; }")
    page.get_by_role("button", name="Stop all").click()
    settle(page)
    yield "hold clock, in doubt"
    page.get_by_role("button", name="Keep all").click()
    page.locator(".held").nth(5).click()
    settle(page)
    yield "hold clock, one time looked at"


def close(page: Page) -> None:
    page.locator("#sheet-close").click()
    settle(page)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_state_of_the_floor_page_has_a_barrier(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting, size: Size
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    signed_in(cast.omar)
    found: list[object] = []
    seen = []
    for state in states(page, thirty):
        seen.append(state)
        found += [(state, barrier) for barrier in barriers(page)]
        page.emulate_media(color_scheme="dark")
        found += [(state, "dark", barrier) for barrier in barriers(page, COLOURS)]
        page.emulate_media(color_scheme="light")
        found += [(state, "small", one) for one in page.evaluate(SMALL_TARGETS, LEAST_TARGET)]
        found += [(state, "small text", one) for one in page.evaluate(SMALL_TEXT, LEAST_TEXT)]
        found += [(state, "no name", one) for one in page.evaluate(UNNAMED)]
        if not page.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            found.append((state, "runs off the side"))
    assert found == []
    assert len(seen) == 20


def test_in_colours_of_the_readers_own_every_button_still_has_an_edge(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    page.emulate_media(forced_colors="active")
    signed_in(cast.omar)
    open_floor(page, thirty, "Hollow hold")
    page.locator("#way").click()
    page.get_by_role("button", name="Start", exact=True).click()
    page.locator(".held").nth(2).click()
    bare = page.evaluate(
        """() => [...document.querySelectorAll("button")].filter((one) => one.checkVisibility()
            && parseFloat(getComputedStyle(one).borderTopWidth) < 1).map((one) => one.className)"""
    )
    assert bare == []
    # Stopped is told by a word, not by the ground alone.
    expect(page.locator(".held").nth(2)).to_contain_text(" s")
    expect(page.locator(".held").nth(3)).to_contain_text("holding")


def test_escape_closes_a_sheet_and_the_focus_comes_back(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Hollow hold")
    for opener in ("#surface", "#all-drills", "#last-turns", "#hurt", "#about", "#fall"):
        page.locator(opener).focus()
        page.keyboard.press("Enter")
        expect(page.locator("#sheet")).to_be_visible()
        page.keyboard.press("Escape")
        expect(page.locator("#sheet")).to_be_hidden()
        expect(page.locator(opener)).to_be_focused()
        settle(page)


def test_the_hold_clock_works_by_keyboard_and_says_each_stop_once(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Hollow hold")
    page.locator("#way").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Start", exact=True)).to_be_focused()
    settle(page)
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Stop all")).to_be_focused()
    page.locator(".held").nth(1).focus()
    settle(page)
    page.keyboard.press("Enter")
    expect(page.locator(".held").nth(1)).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".held").nth(1)).to_be_focused()
    expect(page.locator("#said")).to_have_text(
        f"Amaya: {page.locator('.held').nth(1).locator('.said').inner_text()}"
    )
    # The running clock itself is not read out.
    assert page.locator("#hold-time").get_attribute("aria-live") == "off"
