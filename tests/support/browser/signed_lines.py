"""Lines that a tablet signs: its key, and the one who takes over."""

from playwright.sync_api import Page

from studio.models import Meeting
from tests.support.browser.activity import wait_until
from tests.support.browser.floor_taps import PIN, box


def wait_for_key(page: Page) -> None:
    wait_until(page, lambda: len(box(page)["keys"]) > 0)


def wait_until_signed(page: Page) -> None:
    """A line is signed once it is in sight: two frames and a signature after it is on the disk."""
    wait_until(page, lambda: all(record.get("signed") for record in box(page)["lines"]))


def change_over_to(page: Page, name: str, meeting: Meeting) -> None:
    page.goto(f"/change-over?next=/floor/{meeting.uuid}")
    page.get_by_role("link", name=name).tap()
    for digit in PIN:
        page.get_by_role("button", name=digit, exact=True).tap()
    page.wait_for_url(f"**/floor/{meeting.uuid}")
