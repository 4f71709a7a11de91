"""No page has a barrier, in light or in dark: WCAG 2.2, levels A and AA, as axe-core checks them.

The floor page, with its states, has a test of its own: test_floor_access.py.
"""

import time_machine
from playwright.sync_api import Page, Route

from tests.support.browser.barriers import barriers
from tests.support.cast import Cast, Logged
from tests.support.every_page import EVENING, build, look, visits

LOOKS = [((1180, 820), "light"), ((390, 844), "dark")]


def pages(cast: Cast, log: Logged) -> dict[str, bytes]:
    """Every page as it was answered, by the name of the visit."""
    with time_machine.travel(EVENING, tick=False):
        site = build(cast, log)
        found = {visit.name: look(visit) for visit in visits(site)}
    return {
        name: answer.content
        for name, answer in found.items()
        if answer.content and not name.startswith("floor")
    }


def test_no_page_has_a_barrier(page: Page, cast: Cast, log: Logged) -> None:
    html = pages(cast, log)
    assert len(html) > 60

    def answer(route: Route) -> None:
        name = list(html)[int(route.request.url.rsplit("/", 1)[1])]
        route.fulfill(content_type="text/html; charset=utf-8", body=html[name])

    page.route("**/looked-at/*", answer)
    # What a page draws in place is a page of its own here as well.
    for drawn_in_place in ("**/review/logs", "**/untold", "**/letters/runs/*/on"):
        page.route(drawn_in_place, lambda route: route.fulfill(status=204))
    found = []
    for at, name in enumerate(html):
        page.goto(f"/looked-at/{at}")
        for size, scheme in LOOKS:
            page.set_viewport_size({"width": size[0], "height": size[1]})
            page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
            found += [(scheme, name, barrier) for barrier in barriers(page)]
    assert found == []
