"""The floor page's scripts in a made-up language: what they draw is never English of their own."""

from collections.abc import Callable

import pytest
from django.utils import timezone, translation
from playwright.sync_api import Page, expect

from studio.models import Meeting, Staff
from tests.support.browser.activity import idle, settle
from tests.support.cast import Cast
from tests.support.made_up_language import greek, latin_in, put_into_greek, speak

# Every text and every attribute that is read out, whether it is on the screen just now or not.
TEXTS = """() => {
    const found = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_ALL);
    while (walk.nextNode()) {
        const node = walk.currentNode;
        if (node.nodeType === Node.TEXT_NODE) {
            if (!node.parentElement.closest("script, noscript, style")) found.push(node.data);
        } else if (node.nodeType === Node.ELEMENT_NODE) {
            for (const name of ["aria-label", "title", "alt", "placeholder"]) {
                if (node.hasAttribute(name)) found.push(node.getAttribute(name));
            }
        }
    }
    return found;
}"""


@pytest.fixture
def floor(
    cast: Cast,
    page: Page,
    signed_in: Callable[[Staff], str],
    monkeypatch: pytest.MonkeyPatch,
) -> Page:
    """Omar's floor page, with both children there."""
    put_into_greek()
    speak(monkeypatch)
    # The browser writes days of the week itself, in the language that the page says it is in.
    monkeypatch.setattr(translation._trans, "get_language", lambda: "el")
    today = cast.hall.day_of(timezone.now())
    meeting = Meeting.objects.create(group=cast.blue, date=today, starts_at=cast.blue.starts_at)
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    page.locator("#before-done").click()
    page.locator("#everybody").click()
    page.locator("#roll-done").click()
    return page


def nothing_in_english(page: Page) -> None:
    assert latin_in(page.evaluate(TEXTS)) == []


def choose(page: Page, opener: str, name: str) -> None:
    page.locator(opener).click()
    nothing_in_english(page)
    page.locator("#sheet-body button").filter(has_text=greek(name)).first.click()
    expect(page.locator("#sheet")).to_be_hidden()


def test_the_roll_and_the_tiles(floor: Page) -> None:
    nothing_in_english(floor)
    choose(floor, "#surface", "Spring floor")
    choose(floor, "#all-drills", "Swing and jump tall")
    floor.locator(".tile-main").first.click()
    floor.locator(".tile-miss").last.click()
    expect(floor.locator("#faults")).to_be_visible()
    nothing_in_english(floor)


SHEETS = ["tonight", "last-turns", "hurt", "about", "fall"]


@pytest.mark.parametrize("opener", SHEETS)
def test_every_sheet_and_what_opens_from_it(floor: Page, opener: str) -> None:
    choose(floor, "#surface", "Spring floor")
    choose(floor, "#all-drills", "Swing and jump tall")
    floor.locator(".tile-main").first.click()
    buttons = {button.get_attribute("id") for button in floor.locator("#foot button").all()}
    assert buttons == {"undo", "who", "way", "spotter", "end-of-class", *SHEETS}
    floor.locator(f"#{opener}").click()
    expect(floor.locator("#sheet")).to_be_visible()
    nothing_in_english(floor)
    inside = floor.locator("#sheet-body button")
    if inside.count():
        inside.first.click()
        idle(floor)
        nothing_in_english(floor)


def test_the_end_of_class(floor: Page) -> None:
    floor.locator("#end-of-class").click()
    expect(floor.locator("#end")).to_be_visible()
    nothing_in_english(floor)


def test_a_whole_line(floor: Page) -> None:
    choose(floor, "#surface", "Spring floor")
    choose(floor, "#all-drills", "Hollow-arch log roll")
    floor.locator("#way").click()
    floor.locator(".in-line").first.click()
    nothing_in_english(floor)
    settle(floor)
    floor.locator("#sheet-body > .act").click()
    expect(floor.locator("#undo")).to_contain_text("2")
    nothing_in_english(floor)


def test_the_hold_clock(floor: Page) -> None:
    choose(floor, "#surface", "Spring floor")
    choose(floor, "#all-drills", "Hollow hold")
    floor.locator("#way").click()
    nothing_in_english(floor)
    for _phase in ("running", "in doubt", "settled"):
        # Start; stop all, after the clock was set; keep all.
        settle(floor)
        floor.locator("#hold-head .act:enabled, .hold-doubt .btn").first.click()
        nothing_in_english(floor)
        floor.evaluate("() => { const now = Date.now; Date.now = () => now() + 3_600_000; }")
    settle(floor)
    floor.locator(".held").first.click()
    expect(floor.locator(".hold-adjust")).to_be_visible()
    nothing_in_english(floor)
    floor.locator(".hold-buttons .btn").nth(1).click()
    nothing_in_english(floor)


@pytest.mark.parametrize("drill", ["Wall shrugs, leaning", "Hollow hold", "The sit, hands held"])
def test_reps_seconds_and_grades(floor: Page, drill: str) -> None:
    choose(floor, "#surface", "Spring floor")
    choose(floor, "#all-drills", drill)
    nothing_in_english(floor)
    floor.locator(".tile-main").first.click()
    nothing_in_english(floor)
