"""The map of faults: its lines meet the rows they join, and on paper no root is cut in two."""

import io

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from tests.support.browser.barriers import barriers
from tests.support.browser.floor_taps import SignIn
from tests.support.cast import Cast

# How far from the middle of its row each line of a part begins, in pixels, and how far it ends.
OFF = """() => [...document.querySelectorAll(".map-part")].flatMap((part) => {
    const middles = (rows) => [...part.querySelectorAll(rows)].map((row) => {
        const box = row.getBoundingClientRect();
        return (box.top + box.bottom) / 2;
    });
    const [faults, ends] = [middles(".map-faults > li"), middles(".map-ends > li")];
    const nearest = (rows, at) => Math.min(...rows.map((row) => Math.abs(row - at)));
    return [...part.querySelectorAll(".map-lines-wide path")].flatMap((path) => {
        const at = (length) => path.getPointAtLength(length).matrixTransform(path.getScreenCTM()).y;
        return [nearest(faults, at(0)), nearest(ends, at(path.getTotalLength()))];
    });
})"""


@pytest.fixture
def fault_map(page: Page, signed_in: SignIn, cast: Cast) -> Page:
    signed_in(cast.omar)
    page.goto("/fault-map")
    return page


@pytest.mark.parametrize(("width", "height"), [(1180, 820), (820, 1180), (1440, 900)])
def test_every_line_meets_the_middle_of_its_rows(fault_map: Page, width: int, height: int) -> None:
    fault_map.set_viewport_size({"width": width, "height": height})
    off = fault_map.evaluate(OFF)
    assert len(off) > 300
    assert max(off) < 2


def test_on_a_phone_the_same_is_a_list_and_nothing_is_wider(fault_map: Page) -> None:
    fault_map.set_viewport_size({"width": 390, "height": 844})
    assert fault_map.locator(".map-lines").first.is_hidden()
    assert fault_map.locator(".map-joined").first.bounding_box()["height"] > 10
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert fault_map.evaluate(wide) <= 0


@pytest.mark.parametrize("address", ["/fault-map", "/fault-map?drill=barrel", "/fault-map/squats"])
def test_it_has_no_barrier(page: Page, signed_in: SignIn, cast: Cast, address: str) -> None:
    """WCAG 2.2, levels A and AA, as axe-core checks them; a director has more on it than others."""
    signed_in(cast.petra)
    page.goto(address)
    for width, height, scheme in ((1180, 820, "light"), (390, 844, "dark")):
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        assert barriers(page) == []


def test_on_paper_each_root_is_whole_on_its_page(fault_map: Page) -> None:
    """A sheet for each root and for the way back at most: eight pages."""
    groups = fault_map.evaluate(
        """() => [...document.querySelectorAll(".map-part")].map((part) =>
            [part.querySelector("h3").textContent,
             ...[...part.querySelectorAll(".map-faults strong")].map((one) => one.textContent)])"""
    )
    reader = PdfReader(io.BytesIO(fault_map.pdf(prefer_css_page_size=True)))
    pages = [" ".join(page.extract_text().split()) for page in reader.pages]
    assert len(groups) == 6
    assert len(pages) <= 8
    # ISO 216: A4 upright, in points.
    assert {tuple(map(round, page.mediabox[2:])) for page in reader.pages} == {(595, 842)}
    for heading, *faults in groups:
        assert any(heading in page and all(one in page for one in faults) for page in pages)
