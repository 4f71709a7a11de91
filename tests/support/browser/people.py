"""Browsers of people who are signed in."""

from django.test import Client
from playwright.sync_api import Browser, BrowserContext

from studio.models import Staff
from studio.sign_in.owner_cookie import COOKIE
from tests.support.browser.activity import WATCH
from tests.support.browser.chromium import PATIENCE, TABLET


def open_browser(browser: Browser, home: str) -> BrowserContext:
    """A tablet, on which nobody is signed in yet."""
    made = browser.new_context(base_url=home, viewport=TABLET, has_touch=True)
    made.set_default_timeout(PATIENCE)
    made.add_init_script(WATCH)
    return made


def sign_in_without_form(context: BrowserContext, home: str, staff: Staff) -> str:
    """Answers the session's key."""
    client = Client()
    client.force_login(staff)
    key = client.cookies["sessionid"].value
    cookie = {"name": "sessionid", "value": key, "url": home, "httpOnly": True}
    whose = {"name": COOKIE, "value": str(staff.uuid), "url": home}
    context.add_cookies([cookie, whose])
    return key
