"""A second tablet at the same class."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.support.browser.people import open_browser


@pytest.fixture
def other(browser: Browser, context: BrowserContext, home: str) -> Iterator[Page]:
    """A second tablet, on which the same coach is signed in."""
    made = open_browser(browser, home)
    made.add_cookies(context.cookies())
    yield made.new_page()
    made.close()
