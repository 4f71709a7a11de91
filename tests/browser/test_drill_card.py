"""The drill's card on the floor page: one tap, without a network, and no turn by mistake."""

import json

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, Route, expect

from progression.models import Attempt
from studio.models import Location, Meeting
from tests.support.browser.floor_taps import SignIn, all_sent, clean, open_class
from tests.support.cast import Cast


@pytest.fixture
def meeting(cast: Cast) -> Meeting:
    today = cast.hall.day_of(timezone.now())
    made = Meeting.objects.create(group=cast.blue, date=today, starts_at=cast.blue.starts_at)
    made.staff.set([cast.omar])
    return made


def test_one_tap_opens_the_card_without_a_network_and_one_closes_it(
    page: Page, context: BrowserContext, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    context.set_offline(True)
    page.reload()
    page.locator("#card").tap()
    sheet = page.locator("#sheet")
    expect(sheet.get_by_role("heading", name="Swing and jump tall")).to_be_visible()
    for heading in ("Set-up", "What counts", "Cues", "Adults", "At once", "What can be seen"):
        expect(sheet.get_by_role("heading", name=heading, exact=True)).to_be_visible()
    expect(sheet).to_contain_text("Leads to:")
    page.locator("#sheet-close").tap()
    expect(sheet).to_be_hidden()
    expect(page.locator("#card")).to_be_focused()
    assert not Attempt.objects.exists()
    clean(page, "Mai").tap()
    context.set_offline(False)
    all_sent(page)
    assert Attempt.objects.count() == 1


def test_the_picker_opens_the_card_of_another_drill_with_its_drawings(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.locator("#all-drills").tap()
    page.get_by_role("button", name="What counts: The sit, hands held").tap()
    expect(page.locator("#sheet .pose .figure")).to_have_count(5)
    assert not Attempt.objects.exists()


def test_a_class_kept_by_an_older_page_shows_its_cues(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    def older(route: Route) -> None:
        answer = route.fetch()
        pack = answer.json()
        del pack["fault_texts"], pack["meeting"]["emergency_confirmed"]
        for drill in pack["drills"]:
            del drill["card"]
        route.fulfill(response=answer, body=json.dumps(pack))

    page.route("**/pack?*", older)
    signed_in(cast.omar)
    open_class(page, meeting)
    page.locator("#card").tap()
    expect(page.locator("#sheet").get_by_role("heading", name="Cues")).to_be_visible()
    expect(page.locator("#fall")).to_have_text("After a fall · 112")


def test_the_page_says_that_the_number_is_missing(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    Location.objects.filter(pk=cast.hall.pk).update(emergency_number="")
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#before-hall")).to_contain_text(
        "The emergency number of this hall is missing"
    )
    page.get_by_role("button", name="On to who is here").click()
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 2 children").click()
    expect(page.locator("#fall")).to_have_text("After a fall · no number yet")
    page.locator("#fall").tap()
    expect(page.locator("#sheet")).to_contain_text("The emergency number of this hall is missing")
