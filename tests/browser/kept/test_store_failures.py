"""What the page keeps when the browser's store fails under it: no turn that the page still held is
lost, and none is called sent that no server has."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from progression.models import Attempt, RejectedLine
from studio.models import Meeting
from tests.support.browser.activity import idle, settle, wait_until
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    kept_on_disk,
    open_floor,
    wait_for_worker,
)
from tests.support.browser.killable import Killable
from tests.support.browser.store_failures import (
    FAILURES,
    PRIVATE,
    QUOTA,
    SLOW_READS,
    changed_by_another_tab,
)
from tests.support.cast import Cast

# Half of them before the store fails, half after.
HALF = 20
DRILL = "Swing and jump tall"

# The tiles in turn, from the one given on.
TAP = """([from, times]) => {
    const tiles = [...document.querySelectorAll('.tile-main')];
    for (let at = from; at < from + times; at += 1) {
        const tile = tiles[at % tiles.length];
        const { x, y } = tile.getBoundingClientRect();
        tile.dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: x, clientY: y }));
    }
}"""


# So many turns are on the disk. A store that the browser has emptied is left for the page to make.
ON_DISK = """(expected) => new Promise((resolve) => {
    const open = indexedDB.open('floor');
    open.onupgradeneeded = () => open.transaction.abort();
    open.onerror = () => resolve(false);
    open.onsuccess = () => {
        const all = open.result.transaction('lines').objectStore('lines').getAll();
        all.onsuccess = () => {
            open.result.close();
            resolve(all.result.filter(({ line }) => line.kind === 'turn').length === expected);
        };
    };
})"""
SIGNED_ON_DISK = ON_DISK.replace("({ line })", "({ line, signed })").replace(
    "=== 'turn'", "=== 'turn' && signed"
)


def tap(page: Page, first: int, times: int) -> None:
    settle(page)
    page.evaluate(TAP, [first, times])
    idle(page)


def opened(killable: Killable, page: Page, thirty: Meeting) -> None:
    """The class is open and everything sent; then the server is gone."""
    open_floor(page, thirty, DRILL)
    wait_for_worker(page)
    all_sent(page)
    killable.stop()


def reconnect(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('online'))")


def each_once(killable: Killable, page: Page) -> None:
    """The server is back: every turn is in the log once, and the page says so only then."""
    assert Attempt.objects.count() == 0
    expect(page.locator("#kept")).not_to_contain_text("All sent")
    killable.start()
    reconnect(page)
    expect(page.locator("#kept")).not_to_contain_text("not sent yet", timeout=45_000)
    assert Attempt.objects.count() == 2 * HALF
    assert RejectedLine.objects.count() == 0
    expect(page.locator("#kept")).not_to_contain_text("no answer from the server")


@pytest.mark.parametrize("fail", FAILURES.values(), ids=FAILURES)
def test_a_store_that_can_be_opened_again_gets_back_what_the_page_held(
    killable: Killable,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    thirty: Meeting,
    fail: Callable[[Page], None],
) -> None:
    signed_in(cast.omar)
    opened(killable, page, thirty)
    tap(page, 0, HALF)
    expect(page.locator("#kept")).to_contain_text("20 turns kept here, not sent yet")
    fail(page)
    # The page looks whether it can send.
    reconnect(page)
    tap(page, HALF, 10)
    tap(page, 0, 10)
    expect(page.locator("#kept")).to_contain_text("40 turns kept here, not sent yet")
    expect(page.locator("#kept")).not_to_contain_text("only in this page")
    wait_until(page, lambda: page.evaluate(ON_DISK, 2 * HALF))
    page.reload()
    expect(page.locator("#kept")).to_contain_text("40 turns kept here, not sent yet")
    each_once(killable, page)
    all_sent(page)
    assert kept_on_disk(page) == 0


def test_on_a_full_disk_the_page_sends_from_its_memory_and_says_what_a_reload_would_lose(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    opened(killable, page, thirty)
    tap(page, 0, HALF)
    # A line is written when it is tapped, and once more with its signature.
    wait_until(page, lambda: page.evaluate(SIGNED_ON_DISK, HALF))
    page.evaluate(QUOTA)
    tap(page, HALF, 10)
    tap(page, 0, 10)
    kept = page.locator("#kept")
    expect(kept).to_contain_text("40 turns kept here, not sent yet")
    expect(kept).to_contain_text(
        "20 entries are only in this page: do not close it before they are sent."
    )
    page.locator("#last-turns").click()
    expect(page.locator("#sheet")).to_contain_text("only in this page")
    page.locator("#sheet-close").click()
    each_once(killable, page)


def test_a_line_that_comes_in_while_the_disk_is_read_is_not_written_again(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    opened(killable, page, thirty)
    page.evaluate(SLOW_READS)
    reconnect(page)
    page.wait_for_function("() => reads.begun > reads.ended")
    page.evaluate(TAP, [0, HALF])
    wait_until(page, lambda: page.evaluate(SIGNED_ON_DISK, HALF))
    page.wait_for_function("() => reads.ended > 0")
    idle(page)
    # Once when it is tapped, and once more with its signature.
    assert set(page.evaluate("Object.values(writes)")) == {2}


def test_what_a_full_disk_refused_is_written_when_there_is_room_again(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    opened(killable, page, thirty)
    page.evaluate(QUOTA)
    tap(page, 0, 30)
    tap(page, 0, 10)
    expect(page.locator("#kept")).to_contain_text("40 entries are only in this page")
    page.evaluate("freeTheDisk()")
    reconnect(page)
    expect(page.locator("#kept")).not_to_contain_text("only in this page")
    page.reload()
    expect(page.locator("#kept")).to_contain_text("40 turns kept here, not sent yet")
    each_once(killable, page)
    all_sent(page)


def test_in_a_private_window_the_page_asks_before_it_is_closed_and_sends_all(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    page.add_init_script(PRIVATE)
    signed_in(cast.omar)
    open_floor(page, thirty, DRILL)
    expect(page.locator("#kept")).to_contain_text("This browser keeps nothing")
    killable.stop()
    tap(page, 0, 30)
    tap(page, 0, 10)
    expect(page.locator("#kept")).to_contain_text("40 entries are only in this page")
    asked: list[str] = []
    page.once("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.close(run_before_unload=True)
    wait_until(page, lambda: asked == ["beforeunload"])
    expect(page.locator("#kept")).to_contain_text("40 entries are only in this page")
    each_once(killable, page)


def test_an_older_page_reads_what_a_newer_one_has_kept(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    opened(killable, page, thirty)
    tap(page, 0, 30)
    changed_by_another_tab(page)
    page.reload()
    expect(page.locator("#kept")).to_contain_text("30 turns kept here, not sent yet")
    tap(page, 0, 10)
    wait_until(page, lambda: page.evaluate(ON_DISK, 2 * HALF))
    each_once(killable, page)
