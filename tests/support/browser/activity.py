"""What a page is at: whether a tap is still on its way to the disk, and when the last one was.

WATCH goes into every page before its own scripts. It listens to taps and counts the open
transactions of the page's store, so that a test waits for what it needs and not for a while.
"""

from collections.abc import Callable

from playwright.sync_api import Page

WATCH = """(() => {
    const activity = { tapped: false, touched: -Infinity, clicked: -Infinity, open: 0 };
    addEventListener("touchend", () => {
        activity.tapped = true;
        activity.touched = performance.now();
    }, true);
    addEventListener("click", () => {
        activity.tapped = false;
        activity.clicked = performance.now();
    }, true);
    const start = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (...options) {
        const transaction = start.apply(this, options);
        activity.open += 1;
        for (const end of ["complete", "abort"]) {
            transaction.addEventListener(end, () => (activity.open -= 1));
        }
        return transaction;
    };
    globalThis.activity = activity;
})()"""

# A touch that has not become a click after 300 ms, by the page's clock, was none.
IDLE = """() => activity.open === 0
    && (!activity.tapped || performance.now() - activity.touched > 300)"""
REDRAWN = """() => new Promise((done) =>
    requestAnimationFrame(() => requestAnimationFrame(() => done())))"""
# Longer than the 350 ms in which two taps are one gesture.
NEXT_GESTURE = "() => performance.now() - activity.clicked > 360"


def idle(page: Page) -> None:
    """Every tap has been taken in and is on the disk, and the page shows it."""
    page.wait_for_function(IDLE)
    page.evaluate(REDRAWN)


def settle(page: Page) -> None:
    """The same, and the next tap is a gesture of its own."""
    idle(page)
    page.wait_for_function(NEXT_GESTURE)


def let_pass(page: Page, milliseconds: float) -> None:
    """Time itself, by the page's clock: for what a page may not do before or after so long."""
    start = page.evaluate("performance.now()")
    # By a timer, as a page behind another one draws no frames.
    page.wait_for_function(
        "([start, least]) => performance.now() - start >= least",
        arg=[start, milliseconds],
        polling=100,
        timeout=milliseconds + 30_000,
    )


def wait_until(page: Page, holds: Callable[[], bool], seconds: float = 30) -> None:
    """Until something holds on the server's side; what the page asks for is answered meanwhile."""
    for _ in range(int(seconds * 20)):
        if holds():
            return
        page.wait_for_timeout(50)
    assert holds()
