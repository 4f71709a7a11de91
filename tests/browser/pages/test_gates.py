"""The gates page in a browser: loosen a gate, read the warning, cancel; tighten it and save."""

import datetime

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from progression.models import LadderVersion
from readiness.gates.ladder_gates import gate_at
from tests.support.cast import Cast, Logged
from tests.support.ready import MAT, place_at

WALKOVER = "4.back-walkover"


@pytest.fixture
def nearly_sure(cast: Cast, log: Logged) -> datetime.date:
    """Mai meets every gate of the unspotted walkover but sureness; answers today."""
    today = cast.hall.day_of(timezone.now())
    place_at(cast, cast.mai, 3, today - datetime.timedelta(days=60))
    for days, turns in ((24, "1111"), (17, "1110"), (10, "1111"), (3, "1110")):
        day = today - datetime.timedelta(days=days)
        log(cast.mai, "back-walkover", turns, day=day, support=1, surface=MAT)
        log(cast.mai, "bridge-line", [2.0, 2.0], day=day)
    day = today - datetime.timedelta(days=3)
    log(cast.mai, "back-walkover", "1", day=day, support=1, surface=MAT, by=cast.luis)
    return today


def test_a_gate_is_loosened_and_left_then_tightened_and_saved(
    page: Page, signed_in, cast: Cast, nearly_sure: datetime.date
) -> None:
    signed_in(cast.petra)
    page.goto("/gates")
    expect(page.locator("main")).to_contain_text("would open this within a term by luck")
    page.get_by_role("link", name="Back walkover: steady at standing by or less").click()
    expect(page.get_by_role("heading", name="The numbers")).to_be_visible()

    # Loosened: what it would let through, and whom it would bring up for review.
    page.get_by_label("Sure: so many per cent").fill("40")
    page.get_by_role("button", name="Try").click()
    expect(page.get_by_label("Sure: so many per cent")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Sure: so many per cent")).to_have_value("40")
    page.get_by_label("Sure: so many per cent").fill("50")
    page.get_by_role("button", name="Try").click()
    warning = page.get_by_role("alert")
    expect(warning).to_contain_text("This lets more through by luck")
    expect(page.locator("#trial")).to_contain_text("Would come up for review: 1")
    expect(page.locator("#trial")).to_contain_text("Mai")
    page.get_by_role("link", name="Cancel").click()
    expect(page.locator("#trial")).to_have_count(0)
    expect(page.get_by_label("Sure: so many per cent")).to_have_value("80")
    assert LadderVersion.objects.count() == 1

    # Tightened, and saved with a reason.
    page.get_by_label("Sure: so many per cent").fill("90")
    page.get_by_role("button", name="Try").click()
    expect(page.locator("#trial")).to_contain_text("This lets less through by luck")
    expect(page.locator("#trial")).to_contain_text("Nobody would fall to re-check.")
    page.get_by_label("Reason").fill("Two walkovers went unspotted too soon")
    page.get_by_role("button", name="Save").click()

    # The new version is listed, and counts from tomorrow.
    expect(page.get_by_role("heading", name="Versions of the ladder")).to_be_visible()
    newest = page.locator("#version-2")
    expect(newest).to_contain_text("Petra")
    expect(newest).to_contain_text("Two walkovers went unspotted too soon")
    expect(newest).to_contain_text("→ 90")
    version = LadderVersion.objects.get(number=2)
    assert gate_at(version.content, WALKOVER).row["certainty"] == 0.9
    assert version.from_day > nearly_sure
