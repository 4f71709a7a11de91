"""After a fall, and what hurt before, on a tablet without a network."""

import datetime

from playwright.sync_api import Page, expect

from readiness.models import Fell, Pain, PainGone, Told
from studio.models import Location, Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, clean, open_class, tile
from tests.support.cast import Cast, time_ordered_id


def hurt_last_week(cast: Cast, meeting: Meeting) -> None:
    day = meeting.date - datetime.timedelta(days=7)
    at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    about = {"child": cast.mai, "day": day, "at": at, "by": cast.omar, "received_at": at}
    Pain.objects.create(id=time_ordered_id(at), place="knee", digest="", **about)


def test_after_a_fall_the_number_comes_first_then_who_a_pause_and_who_was_told(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    Location.objects.filter(pk=cast.hall.pk).update(door="the gate", defibrillator="in the foyer")
    signed_in(cast.omar)
    open_class(page, meeting)
    page.context.set_offline(True)
    page.locator("#fall").tap()
    sheet = page.locator("#sheet")
    expect(sheet.locator("p").first).to_contain_text("do not move the child, keep the head still")
    expect(sheet).to_contain_text("The ambulance comes to: the gate")
    expect(sheet).to_contain_text("Defibrillator: in the foyer")
    expect(sheet).not_to_contain_text("First-aid kit")
    expect(sheet).to_contain_text("Call at once for any of these")
    expect(sheet.locator(".reasons li")).to_have_count(10)
    sheet.get_by_role("button", name="Mai", exact=True).tap()
    settle(page)
    sheet.get_by_role("button", name="Fell: write it down").tap()
    expect(sheet).to_contain_text("Written down: Mai fell,")
    settle(page)
    sheet.get_by_role("button", name="Head", exact=True).tap()
    expect(sheet).to_contain_text("Mai is paused: no tumbling until a director lifts it.")
    settle(page)
    sheet.get_by_role("button", name="a parent or guardian, here").tap()
    expect(sheet).to_contain_text("Head: a parent or guardian, here")
    page.locator("#sheet-close").tap()
    expect(tile(page, "Mai")).to_contain_text("paused")
    settle(page)
    clean(page, "Mai").tap()
    expect(sheet).to_contain_text("Not this drill, not now.")
    page.locator("#sheet-close").tap()
    page.context.set_offline(False)
    all_sent(page)
    assert Fell.objects.get().child == cast.mai
    assert (Pain.objects.get().child, Pain.objects.get().place) == (cast.mai, "head")
    told = Told.objects.get()
    assert (told.child, told.about, told.whom) == (cast.mai, "head", "guardian-here")


def test_what_hurt_before_is_asked_and_gone_counts_at_once(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    hurt_last_week(cast, meeting)
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#before-list")).to_contain_text("Knee, on")
    expect(page.locator("#before-list")).to_contain_text("gone, or still there?")
    open_class(page, meeting)
    page.context.set_offline(True)
    expect(tile(page, "Mai")).to_contain_text("Knee: gone?")
    clean(page, "Mai").tap()
    sheet = page.locator("#sheet")
    expect(sheet).to_contain_text("Not this drill, not now.")
    sheet.get_by_role("button", name="Knee: gone").tap()
    expect(sheet).to_be_hidden()
    expect(tile(page, "Mai")).not_to_contain_text("gone?")
    settle(page)
    clean(page, "Mai").tap()
    expect(sheet).to_be_hidden()
    page.context.set_offline(False)
    all_sent(page)
    assert (PainGone.objects.get().child, PainGone.objects.get().place) == (cast.mai, "knee")
