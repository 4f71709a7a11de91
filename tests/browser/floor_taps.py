"""What the tests of the floor page tap, in words."""

import re

from playwright.sync_api import Locator, Page, expect

from studio.models import Meeting


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


def choose(page: Page, opener: str, words: str) -> None:
    page.locator(opener).click()
    exact = re.compile(f"^{re.escape(words)}( (clean or not|seconds|reps|grade))?$", re.IGNORECASE)
    page.locator("#sheet").get_by_role("button", name=exact).click()
    expect(page.locator("#sheet")).to_be_hidden()
    settle(page)


def settle(page: Page) -> None:
    """Longer than a gesture: the next tap is another one."""
    page.wait_for_timeout(400)


def tile(page: Page, name: str) -> Locator:
    return page.locator(".tile").filter(has=page.locator(".name", has_text=re.compile(f"^{name}$")))


def all_sent(page: Page) -> None:
    # A tap is shown as kept when it is on the disk: give it the moment that takes.
    page.wait_for_timeout(200)
    expect(page.locator("#kept")).to_have_text("All sent")
