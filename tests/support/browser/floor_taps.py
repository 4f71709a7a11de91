"""What the tests of the floor page tap, in words."""

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Locator, Page, expect

from studio.models import Meeting, Staff
from tests.support.browser.activity import idle, settle

SignIn = Callable[[Staff], str]
# Everybody's who has one.
PIN = "490273"
# In milliseconds. A page asks every three seconds, and has five on a machine that is not busy; the
# whole class it fetches anew only once a minute.
SOON = 30_000


def open_floor(page: Page, meeting: Meeting, drill: str, count: int = 30) -> None:
    """Everybody is here, the floor and the drill are chosen."""
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    settle(page)
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name=f"On to {count} children").click()
    expect(page.locator(".tile")).to_have_count(count)
    settle(page)
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", drill)


def open_class(page: Page, meeting: Meeting, late: bool = False) -> None:
    """Mai and Ilse are here; the page is kept by the browser. ``late``: the meeting is over."""
    page.goto(f"/floor/{meeting.uuid}")
    if late:
        page.get_by_role("button", name="Log for").tap()
        settle(page)
    page.get_by_role("button", name="On to who is here").click()
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 2 children").click()
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", "Swing and jump tall")
    wait_for_worker(page)
    all_sent(page)


def wait_for_worker(page: Page) -> None:
    page.evaluate("navigator.serviceWorker.ready.then((found) => found.active.state)")


def choose(page: Page, opener: str, words: str) -> None:
    page.locator(opener).click()
    # On a phone the choices open under the finger: a second tap so soon would not count.
    if page.viewport_size and page.viewport_size["width"] < 600:
        settle(page)
    exact = re.compile(f"^{re.escape(words)}( (clean or not|seconds|reps|grade))?$", re.IGNORECASE)
    page.locator("#sheet").get_by_role("button", name=exact).click()
    expect(page.locator("#sheet")).to_be_hidden()
    settle(page)


def tile(page: Page, name: str) -> Locator:
    return page.locator(".tile").filter(has=page.locator(".name", has_text=re.compile(f"^{name}$")))


def clean(page: Page, name: str) -> Locator:
    return tile(page, name).locator(".tile-main")


def not_clean(page: Page, name: str) -> Locator:
    return tile(page, name).locator(".tile-miss")


def all_sent(page: Page) -> None:
    # A tap is shown as kept when it is on the disk.
    idle(page)
    expect(page.locator("#kept")).to_have_text("All sent")


def kept_on_disk(page: Page) -> int:
    """How many lines the tablet holds on its disk."""
    return page.evaluate(
        """() => new Promise((resolve, reject) => {
            const open = indexedDB.open("floor");
            open.onsuccess = () => {
                const count = open.result.transaction("lines").objectStore("lines").count();
                count.onsuccess = () => { open.result.close(); resolve(count.result); };
            };
            open.onerror = () => reject(open.error);
        })"""
    )


def box(page: Page) -> dict[str, list[Any]]:
    """Everything in the tablet's database, by store."""
    found: dict[str, list[Any]] = page.evaluate(
        """() => new Promise((resolve, reject) => {
            const open = indexedDB.open("floor");
            open.onerror = () => reject(open.error);
            open.onsuccess = () => {
                const names = [...open.result.objectStoreNames];
                const found = {};
                const reading = open.result.transaction(names);
                for (const name of names) {
                    const all = reading.objectStore(name).getAll();
                    all.onsuccess = () => (found[name] = all.result);
                }
                reading.oncomplete = () => { open.result.close(); resolve(found); };
            };
        })"""
    )
    return found
