"""No text of the floor is cut off: on a tablet, a small one, a phone, and with letters twice as
large (WCAG 2.2, 1.4.4: text can be enlarged to 200 % without loss of content)."""

import datetime
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, choose, clean, not_clean, open_floor
from tests.support.cast import Cast
from tests.support.ready import place_at

# Each text is looked for in every box around it that hides what lies outside. What is for screen
# readers alone is cut on purpose, and so is what can be scrolled to.
CUT = """() => {
    const hides = (box, side) => ["hidden", "clip"].includes(getComputedStyle(box)[side]);
    const found = [];
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
        const text = texts.currentNode;
        const parent = text.parentElement;
        if (!text.data.trim() || !parent.checkVisibility({ visibilityProperty: true })) continue;
        if (["SCRIPT", "NOSCRIPT"].includes(parent.tagName)) continue;
        const range = document.createRange();
        range.selectNodeContents(text);
        const place = range.getBoundingClientRect();
        const boxes = [];
        for (let box = parent; box !== document.body; box = box.parentElement) boxes.push(box);
        if (boxes.some((box) => getComputedStyle(box).clipPath !== "none")) continue;
        for (const box of boxes) {
            const edge = box.getBoundingClientRect();
            const across = hides(box, "overflowX")
                && (place.right > edge.right + 1 || place.left < edge.left - 1);
            const down = hides(box, "overflowY")
                && (place.bottom > edge.bottom + 2 || place.top < edge.top - 2);
            if (across || down) found.push([box.className || box.id, text.data.slice(0, 40)]);
            if (!hides(box, "overflowX") && box.scrollHeight > box.clientHeight + 1
                && ["auto", "scroll"].includes(getComputedStyle(box).overflowY)) break;
        }
        const edge = parent.closest("button, .btn")?.getBoundingClientRect();
        if (edge && (place.right > edge.right + 1 || place.left < edge.left - 1
            || place.bottom > edge.bottom + 2 || place.top < edge.top - 2)) {
            found.push(["runs out of its button", text.data.slice(0, 40)]);
        }
    }
    return [...new Map(found.map((one) => [one.join(), one])).values()];
}"""

DRILLS = ("Back walkover", "Hollow hold", "Hollow-arch log roll", "The sit, hands held")
SIZES = {
    "tablet": (1180, 820, 1),
    "small tablet": (1024, 768, 1),
    "phone": (390, 844, 1),
    "tablet, letters twice as large": (1180, 820, 2),
    "phone, letters twice as large": (390, 844, 2),
}
SHEETS = ("#surface", "#all-drills", "#card", "#tonight", "#last-turns", "#hurt", "#about", "#fall")


def states(page: Page) -> Iterator[str]:
    """Each state of the floor in turn, with its name."""
    for drill in DRILLS:
        choose(page, "#all-drills", drill)
        yield f"tiles, {drill}"
    choose(page, "#all-drills", "Hollow-arch log roll")
    clean(page, "Mai").click()
    settle(page)
    not_clean(page, "Mai").click()
    settle(page)
    yield "faults"
    page.locator("#faults").get_by_role("button", name="Done").click()
    settle(page)
    for opener in SHEETS:
        page.locator(opener).click()
        expect(page.locator("#sheet")).to_be_visible()
        yield f"sheet {opener}"
        page.locator("#sheet-close").click()
        settle(page)
    page.locator("#way").click()
    settle(page)
    page.locator(".in-line", has_text="Mai").click()
    yield "a line"
    page.locator("#sheet-close").click()
    settle(page)
    choose(page, "#all-drills", "Back walkover")
    page.locator("#spotter").click()
    settle(page)
    yield "spotter gone"
    choose(page, "#all-drills", "Hollow hold")
    page.locator("#way").click()
    settle(page)
    yield "hold clock, ready"
    page.get_by_role("button", name="Start", exact=True).click()
    page.locator(".held").nth(2).click()
    settle(page)
    yield "hold clock, running"
    page.get_by_role("button", name="Stop all").click()
    settle(page)
    yield "hold clock, to be looked at"
    page.get_by_role("button", name="Log 30 holds").click()
    settle(page)
    yield "tiles with values"
    page.locator("#end-of-class").click()
    settle(page)
    yield "end of class"


@pytest.mark.parametrize("size", SIZES)
def test_no_text_of_the_floor_is_cut(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting, size: str
) -> None:
    width, height, letters = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    for child in cast.blue.children.all():
        place_at(cast, child, 3, thirty.date - datetime.timedelta(days=10))
    signed_in(cast.omar)
    open_floor(page, thirty, "Hollow hold")
    page.evaluate("large => (document.documentElement.style.fontSize = `${large}%`)", letters * 100)
    settle(page)
    found = [(state, *cut) for state in states(page) for cut in page.evaluate(CUT)]
    print(*found, sep="\n")
    assert found == []
