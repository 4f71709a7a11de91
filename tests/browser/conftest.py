"""A real server and a real browser: Chromium, the size of a tablet, with touch."""

import os
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from datetime import UTC
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from studio.models import Meeting, Staff
from tests.support.browser.chromium import CHROMIUM, FLAGS, PATIENCE
from tests.support.browser.killable import Killable
from tests.support.browser.people import open_browser, sign_in_without_form
from tests.support.cast import Cast, make_child

expect.set_options(timeout=PATIENCE)

# With Ilse and Mai, who are in the class already, thirty.
THIRTY = [
    "Amaya", "Bettina", "Cosima", "Dariya", "Elodie", "Fenna", "Gwen", "Hanneke", "Imani",
    "Junia", "Keziah", "Linh", "Maren", "Noor", "Oriane", "Petronella", "Quilla", "Runa",
    "Sunniva", "Thandiwe", "Ulla", "Vesna", "Wilhelmina", "Xenia", "Yuki", "Zora", "Ada", "Bo",
]  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "tests/browser/" in item.nodeid:
            item.add_marker("browser")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not os.path.exists(CHROMIUM):
        if os.environ.get("LADDER_NEED_BROWSER") == "1":
            pytest.fail(f"no Chromium at {CHROMIUM}")
        pytest.skip(f"no Chromium at {CHROMIUM}")
    # The browser's driver runs an event loop in this thread, where Django then sees an async
    # context; the tests use the database from here all the same.
    with patch.dict(os.environ, {"DJANGO_ALLOW_ASYNC_UNSAFE": "true"}), sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


class Counted:
    """The site, and how many requests it is answering."""

    def __init__(self, site: Callable[..., Any]) -> None:
        self.site = site
        self._answering = 0
        self._changed = threading.Condition()

    def __call__(self, environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        self._count(1)
        try:
            with closing(self.site(environ, start)) as answer:
                return [b"".join(answer)]
        finally:
            self._count(-1)

    def _count(self, change: int) -> None:
        with self._changed:
            self._answering += change
            self._changed.notify_all()

    def wait_until_idle(self) -> None:
        with self._changed:
            assert self._changed.wait_for(lambda: self._answering == 0, timeout=30)


@pytest.fixture(scope="session")
def live_server(static_files: None) -> Iterator[LiveServer]:
    """The site with its hashed static files, served by WhiteNoise as in the real thing and
    not by the finders of the development server."""
    with patch("django.contrib.staticfiles.handlers.StaticFilesHandler", Counted):
        server = LiveServer("localhost")
    yield server
    server.stop()


@pytest.fixture
def killable(live_server: LiveServer, tmp_path: Path) -> Iterator[Killable]:
    """The site in a process of its own; the test's pages come from it. (The live server, which
    is not asked then, sees to it that the tests' database holds what the test has made.)"""
    made = Killable(tmp_path)
    made.start()
    yield made
    made.stop()


@pytest.fixture
def home(request: pytest.FixtureRequest, live_server: LiveServer) -> str:
    """Where the site is: of the killable server, where a test asks for one."""
    if "killable" in request.fixturenames:
        killable: Killable = request.getfixturevalue("killable")
        return killable.url
    return live_server.url


@pytest.fixture
def context(browser: Browser, live_server: LiveServer, home: str) -> Iterator[BrowserContext]:
    made = open_browser(browser, home)
    yield made
    # A handler that still waits for an answer is no fault of the next test.
    for routed in (*made.pages, made):
        routed.unroute_all(behavior="ignoreErrors")
    made.close()
    # What a page asked for last is still being answered: the tables are emptied after that.
    live_server.thread.httpd.get_app().wait_until_idle()


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page on which nothing may go wrong unseen: a script error fails the test."""
    opened = context.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(str(error)))
    yield opened
    assert errors == []


@pytest.fixture
def signed_in(context: BrowserContext, home: str) -> Callable[[Staff], str]:
    """Sign somebody in in the browser, without the form; answers the session's key."""

    return partial(sign_in_without_form, context, home)


@pytest.fixture
def cast(cast: Cast) -> Cast:
    """In both halls it is around noon: a clock that is hours off stays within the day."""
    noon = f"Etc/GMT{timezone.now().astimezone(UTC).hour - 12:+d}"
    for hall in (cast.hall, cast.other_hall):
        hall.zone = noon
        hall.save(update_fields=["zone"])
    return cast


@pytest.fixture
def thirty(cast: Cast) -> Meeting:
    """Today's meeting of a class of thirty."""
    for name in THIRTY:
        make_child(f"{name} Test", cast.blue)
    today = cast.hall.day_of(timezone.now())
    made = Meeting.objects.create(group=cast.blue, date=today, starts_at=cast.blue.starts_at)
    made.staff.set([cast.omar, cast.tam])
    return made


@pytest.fixture
def meeting(cast: Cast) -> Meeting:
    """Today's meeting of the blue class, Mai's and Ilse's."""
    today = cast.hall.day_of(timezone.now())
    made = Meeting.objects.create(group=cast.blue, date=today, starts_at=cast.blue.starts_at)
    made.staff.set([cast.omar, cast.tam])
    return made
