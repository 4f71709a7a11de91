"""The tablet's arithmetic in the browser itself, held to the vectors that the engine is held
to (tests/vectors), and moving at the tap with no network."""

import datetime
import json
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from studio.models import Meeting
from tests.support.browser.floor_taps import SignIn, choose, clean, not_clean, tile
from tests.support.cast import Cast, Logged
from tests.support.ready import MAT, place_at
from tests.vectors.make import FOLDER

CHECKS = Path(__file__).resolve().parent.parent / "js" / "checks.mjs"
MODULES = ["clean_rate", "gate_now", "support_now"]
WEEK = datetime.timedelta(weeks=1)


def vectors(name: str) -> Any:
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture
def checked_page(page: Page) -> Page:
    """A page of the real server, with the checks beside its modules."""
    script = CHECKS.read_text(encoding="utf-8")
    page.route(
        "**/checks.mjs", lambda route: route.fulfill(content_type="text/javascript", body=script)
    )
    page.goto("/sign-in")
    return page


@pytest.mark.parametrize(
    ("check", "modules", "data"),
    [
        ("checkBeta", ["clean_rate"], []),
        ("checkSureness", ["clean_rate"], ["sureness"]),
        ("checkGates", ["gate_now", "clean_rate"], ["gates"]),
        ("checkClasses", ["gate_now", "support_now"], ["classes"]),
    ],
)
def test_the_browser_reads_the_vectors_as_the_engine_does(
    checked_page: Page, db: None, check: str, modules: list[str], data: list[str]
) -> None:
    wrong = checked_page.evaluate(
        """async ([check, names, vectors]) => {
            const checks = await import("/checks.mjs");
            const load = (name) => import(`/static/floor/rules/${name}.js`);
            const modules = await Promise.all(names.map(load));
            return checks[check](...modules, ...vectors);
        }""",
        [check, modules, [vectors(name) for name in data]],
    )
    assert wrong == []


def test_sureness_and_support_move_at_the_tap_with_no_network(
    page: Page, signed_in: SignIn, cast: Cast, log: Logged
) -> None:
    """Mai has walked over at standing by for five weeks, steady at every step before it."""
    today = cast.hall.day_of(timezone.now())
    place_at(cast, cast.mai, 3, today - 9 * WEEK)
    for back, support in [(8, 3), (7, 3), (6, 3), (5, 2), (4, 2), (3, 2), (2, 2), (1, 2)]:
        log(cast.mai, "back-walkover", "111", day=today - back * WEEK, support=support, surface=MAT)
    meeting = Meeting.objects.create(group=cast.blue, date=today, starts_at=cast.blue.starts_at)
    meeting.staff.set([cast.omar])
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 2 children").click()
    choose(page, "#surface", "mat on sprung dance floor")
    choose(page, "#all-drills", "Back walkover")
    mai = tile(page, "Mai")
    expect(mai.locator(".tile-support")).to_contain_text("light touch")
    expect(mai.locator(".progress-words")).to_have_text("sure 20 % of 80 0 turns")
    page.context.set_offline(True)
    not_clean(page, "Mai").tap()
    page.get_by_role("button", name="Caught or lifted by the spotter").tap()
    expect(mai).to_contain_text("re-check")
    expect(mai.locator(".tile-support")).to_contain_text("hands-on")
    page.get_by_role("button", name="Done").tap()
    clean(page, "Mai").tap()
    page.locator("#undo").tap()
    expect(mai.locator(".tile-support")).to_contain_text("hands-on")
