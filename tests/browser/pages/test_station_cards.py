"""A station's card, printed: a page of A5 for each, with its figure where there is one."""

import io

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from tests.support.browser.floor_taps import SignIn
from tests.support.cast import Cast
from tests.support.letters.files import read_content
from tests.support.letters.tagged import figures


@pytest.fixture
def cards(page: Page, signed_in: SignIn, cast: Cast) -> Page:
    signed_in(cast.tam)
    keys = [drill["key"] for drill in read_content()["drill"]]
    page.goto("/station-cards/print?" + "&".join(f"drill={key}" for key in keys))
    return page


def test_each_card_is_one_page_and_a_figure_is_told_in_words(cards: Page) -> None:
    reader = PdfReader(io.BytesIO(cards.pdf(tagged=True, prefer_css_page_size=True)))
    assert len(reader.pages) == len(read_content()["drill"])
    # ISO 216: A5 across, in points.
    assert {tuple(map(round, page.mediabox[2:])) for page in reader.pages} == {(595, 420)}
    assert sorted(figures(reader)) == [
        "Arch hold",
        "Bridge line: Shoulders over or past the wrists. Legs nearly straight.",
        "Front support",
        "Hands-down line, held: On the line. Arms long, by the ears; told to push, the shoulders "
        "rise.",
        "Hollow hold",
        "The sit, hands held: Right. Ribs in, head neutral, hips well behind the heels: without "
        "the hands the child would fall.",
    ]


def test_a_drawn_card_with_a_name_of_two_lines_is_one_page(cards: Page) -> None:
    cards.locator(".station-card:has(.station-figure) h2").evaluate_all(
        "names => names.forEach(name => { name.textContent = "
        "'Bridge line over the raised block, past the wrists' })"
    )
    reader = PdfReader(io.BytesIO(cards.pdf(prefer_css_page_size=True)))
    assert len(reader.pages) == len(read_content()["drill"])


def test_a_card_without_a_figure_keeps_no_room_for_one(cards: Page) -> None:
    drawn = cards.locator(".station-card:has(.station-figure)")
    assert drawn.count() == 6
    assert drawn.locator("svg.figure").count() == 6
    cards.locator("[data-angles]").first.evaluate("place => place.replaceChildren()")
    assert cards.locator("[data-angles]").first.is_hidden()
