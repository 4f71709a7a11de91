"""A page that is killed in the middle of an entry: the next one opens it where it was."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import Attempt
from readiness.models import Note
from studio.models import Meeting
from tests.support.browser.activity import settle, wait_until
from tests.support.browser.floor_taps import SignIn, all_sent, open_floor, tile, wait_for_worker
from tests.support.browser.killable import Killable
from tests.support.cast import Cast


def count_seven(page: Page) -> None:
    tile(page, "Mai").locator(".tile-main").tap()
    for _rep in range(7):
        page.locator(".plus").tap()
    settle(page)


def type_a_number(page: Page) -> None:
    tile(page, "Mai").locator(".tile-main").tap()
    settle(page)
    for digit in "12":
        page.locator(".key", has_text=re.compile(f"^{digit}$")).tap()
        settle(page)


def mark_two(page: Page) -> None:
    page.get_by_role("button", name="All clean but").tap()
    settle(page)
    for name in ("Gwen", "Noor"):
        page.locator(".in-line", has_text=name).tap()
    settle(page)


def open_grade(page: Page) -> None:
    tile(page, "Mai").locator(".tile-main").tap()
    settle(page)
    expect(page.locator(".pose")).to_have_count(5)


def keep(words: str) -> Callable[[Page], None]:
    def tap(page: Page) -> None:
        page.locator("#sheet").get_by_role("button", name=re.compile(words)).first.tap()

    return tap


ENTRIES = {
    "reps being counted": ("Bridge rocks", count_seven, keep("^Keep 7$"), {"Mai": 7.0}),
    "a number half typed": ("Hollow hold", type_a_number, keep("^Keep 12$"), {"Mai": 12.0}),
    "marks of a line": (
        "Hollow-arch log roll",
        mark_two,
        keep("^Log: clean 28, not clean 2"),
        None,
    ),
    "a grade open": ("The sit, hands held", open_grade, keep("without the hands"), {"Mai": 3.0}),
}


@pytest.mark.parametrize(("drill", "enter", "finish", "logged"), ENTRIES.values(), ids=ENTRIES)
def test_an_entry_that_was_open_when_the_page_was_killed_is_open_again(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    thirty: Meeting,
    drill: str,
    enter: Callable[[Page], None],
    finish: Callable[[Page], None],
    logged: dict[str, float] | None,
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, drill)
    wait_for_worker(page)
    all_sent(page)
    killable.stop()
    enter(page)
    title = page.locator("#sheet-title").inner_text()
    page.close()
    again = context.new_page()
    again.goto(f"/floor/{thirty.uuid}")
    expect(again.locator("#sheet-title")).to_have_text(title)
    settle(again)
    finish(again)
    expect(again.locator("#sheet")).to_be_hidden()
    settle(again)
    if again.locator("#faults").is_visible():
        again.locator("#faults").get_by_role("button", name="Done").tap()
    # Logged, it is no entry any more.
    again.reload()
    expect(again.locator("#tiles")).to_be_visible()
    settle(again)
    expect(again.locator("#sheet")).to_be_hidden()
    killable.start()
    again.evaluate("dispatchEvent(new Event('online'))")
    all_sent(again)
    turns = Attempt.objects.select_related("child")
    if logged is None:
        assert {one.child.called for one in turns if not one.clean} == {"Gwen", "Noor"}
        assert turns.count() == 30
    else:
        assert {one.child.called: one.value for one in turns} == logged


def test_a_note_half_typed_when_the_page_was_killed_is_found_again(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    thirty: Meeting,
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Bridge rocks")
    wait_for_worker(page)
    all_sent(page)
    killable.stop()
    page.get_by_role("button", name="End of class").tap()
    settle(page)
    page.locator("#end").get_by_role("button", name="Mai", exact=True).tap()
    settle(page)
    page.locator("#note-text").press_sequentially("was glad about the fir")
    settle(page)
    page.close()
    again = context.new_page()
    again.goto(f"/floor/{thirty.uuid}")
    expect(again.locator("#sheet-title")).to_contain_text("Mai")
    expect(again.locator("#note-text")).to_have_value("was glad about the fir")
    again.locator("#note-text").press_sequentially("st handstand")
    again.get_by_role("button", name="Keep the note").tap()
    expect(again.locator("#sheet")).to_be_hidden()
    # Kept, it is no entry any more.
    again.reload()
    expect(again.locator("#tiles")).to_be_visible()
    settle(again)
    expect(again.locator("#sheet")).to_be_hidden()
    killable.start()
    again.evaluate("dispatchEvent(new Event('online'))")
    wait_until(again, Note.objects.exists)
    note = Note.objects.get()
    assert (note.child.called, note.text) == ("Mai", "was glad about the first handstand")


def test_what_somebody_else_left_open_is_not_opened(
    context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Bridge rocks")
    count_seven(page)
    page.close()
    signed_in(cast.tam)
    other = context.new_page()
    other.goto(f"/floor/{thirty.uuid}")
    expect(other.locator("#tiles")).to_be_visible()
    settle(other)
    expect(other.locator("#sheet")).to_be_hidden()
    other.close()
    signed_in(cast.omar)
    own = context.new_page()
    own.goto(f"/floor/{thirty.uuid}")
    expect(own.locator(".reps output")).to_have_text("7")


def test_a_page_that_is_still_open_keeps_its_entry_to_itself(
    context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Bridge rocks")
    count_seven(page)
    other = context.new_page()
    other.goto(f"/floor/{thirty.uuid}")
    expect(other.locator("#tiles")).to_be_visible()
    settle(other)
    expect(other.locator("#sheet")).to_be_hidden()
    expect(page.locator(".reps output")).to_have_text("7")
