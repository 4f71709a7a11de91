"""Hands on the floor page: no yes on file, and the child's own "no hands tonight", one tap."""

import datetime

from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import LadderVersion, Strike, Surface
from readiness.models import NoHands, Placing
from readiness.record.told.on_the_page import note_not_tonight
from studio.models import Child, Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, choose, open_class, tile
from tests.support.cast import Cast
from tests.support.guards import forget_answers


def place(cast: Cast, child: Child, day: datetime.date) -> None:
    Placing.objects.create(
        child=child,
        stage=3,
        surface=Surface.objects.get(key="sprung-dance-floor"),
        reason="seen",
        by=cast.petra,
        at=datetime.datetime.combine(day, datetime.time(17), datetime.UTC),
        day=day,
        ladder=LadderVersion.objects.get(),
    )


def test_no_hands_tonight_is_one_tap_without_a_network_and_can_be_taken_back(
    page: Page, context: BrowserContext, cast: Cast, meeting: Meeting, signed_in: SignIn
) -> None:
    forget_answers(cast.ilse)
    for child in (cast.mai, cast.ilse):
        place(cast, child, meeting.date - datetime.timedelta(days=10))
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#before-list")).to_contain_text("No yes to hands")
    open_class(page, meeting)
    choose(page, "#all-drills", "Back walkover")
    expect(tile(page, "Ilse")).to_contain_text("no yes to hands")
    context.set_offline(True)
    tile(page, "Mai").locator(".tile-support").tap()
    sheet = page.locator("#sheet")
    box = sheet.get_by_role("button", name="No hands tonight").bounding_box()
    assert box is not None
    assert box["height"] >= 64
    sheet.get_by_role("button", name="No hands tonight").tap()
    expect(sheet).to_contain_text("Mai said no to hands tonight: no skill that needs a spotter.")
    expect(sheet).not_to_contain_text("Support from now on")
    # It is said once.
    expect(sheet.get_by_text("hands tonight")).to_have_count(1)
    page.locator("#sheet-close").tap()
    expect(tile(page, "Mai")).to_contain_text("no hands tonight")
    context.set_offline(False)
    all_sent(page)
    said = NoHands.objects.get()
    assert said.child == cast.mai
    settle(page)
    tile(page, "Mai").locator(".tile-support").tap()
    sheet.get_by_role("button", name="Hands are all right again").tap()
    expect(sheet).to_contain_text("Support from now on")
    page.locator("#sheet-close").tap()
    expect(tile(page, "Mai")).not_to_contain_text("no hands tonight")
    all_sent(page)
    assert Strike.objects.get().attempt_id == said.pk


def test_not_tonight_is_one_word_on_the_tile_of_who_may_read_it(
    page: Page, cast: Cast, meeting: Meeting, signed_in: SignIn
) -> None:
    place(cast, cast.mai, meeting.date - datetime.timedelta(days=10))
    note_not_tonight(cast.mai, cast.omar, timezone.now())
    signed_in(cast.omar)
    open_class(page, meeting)
    expect(tile(page, "Mai").locator(".word")).to_have_text("Not tonight")
    expect(tile(page, "Ilse")).not_to_contain_text("Not tonight")


def test_an_assistants_tile_does_not_say_not_tonight(
    page: Page, cast: Cast, meeting: Meeting, signed_in: SignIn
) -> None:
    note_not_tonight(cast.mai, cast.omar, timezone.now())
    signed_in(cast.tam)
    open_class(page, meeting)
    expect(tile(page, "Mai")).to_be_visible()
    expect(tile(page, "Mai")).not_to_contain_text("Not tonight")
