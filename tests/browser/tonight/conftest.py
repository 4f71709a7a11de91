"""A second tablet at the same class."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.support.browser.activity import WATCH
from tests.support.browser.chromium import PATIENCE, TABLET


@pytest.fixture
def other(browser: Browser, context: BrowserContext, home: str) -> Iterator[Page]:
    """A second tablet, on which the same coach is signed in."""
    made = browser.new_context(base_url=home, viewport=TABLET, has_touch=True)
    made.set_default_timeout(PATIENCE)
    made.add_init_script(WATCH)
    made.add_cookies(context.cookies())
    yield made.new_page()
    made.close()
