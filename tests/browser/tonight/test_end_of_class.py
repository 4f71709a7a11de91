"""The end of a class on one page, by taps alone, without a network as well."""

from playwright.sync_api import Locator, Page, expect

from progression.models import Attempt
from readiness.models import ClassOver, Told
from studio.models import Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, choose, clean, not_clean, open_class
from tests.support.cast import Cast


def end_of_class(page: Page) -> Locator:
    page.get_by_role("button", name="End of class").tap()
    settle(page)
    return page.locator("#end")


def hurt(page: Page, child: str, place: str) -> None:
    page.locator("#hurt").tap()
    settle(page)
    sheet = page.locator("#sheet")
    sheet.get_by_role("button", name=child, exact=True).tap()
    settle(page)
    sheet.get_by_role("button", name=place, exact=True).tap()
    settle(page)
    page.locator("#sheet-close").tap()
    settle(page)


def test_the_end_of_class_says_what_is_left_and_is_done_by_taps(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.context.set_offline(True)
    clean(page, "Mai").tap()
    settle(page)
    not_clean(page, "Mai").tap()
    settle(page)
    page.locator("#faults").get_by_role("button", name="Done").tap()
    settle(page)
    hurt(page, "Mai", "Knee")
    hurt(page, "Mai", "Head")
    end = end_of_class(page)
    expect(end).to_contain_text("2 turns logged tonight; 2 children here.")
    expect(end).to_contain_text("4 entries are still on this tablet.")
    expect(end).to_contain_text("No turn tonight: Ilse. First next time.")
    rows = end.locator(".to-tell li")
    expect(rows).to_have_count(2)
    # The head comes first, and is the one with whom nobody leaves untold.
    expect(rows.first).to_contain_text("Mai: Head")
    expect(rows.first).to_contain_text("Mai leaves only with an adult who has been told.")
    rows.first.get_by_role("button", name="a parent or guardian, here").tap()
    settle(page)
    expect(rows).to_have_count(1)
    expect(end).to_contain_text("1 not told yet.")
    rows.first.get_by_role("button", name="another adult who takes the child home").tap()
    settle(page)
    expect(rows).to_have_count(0)
    expect(end).to_contain_text("Head: a parent or guardian, here")
    end.get_by_role("button", name="The class is over").tap()
    settle(page)
    expect(end).to_contain_text("The class is over since")
    expect(end.get_by_role("button", name="The class is over")).to_be_hidden()
    page.context.set_offline(False)
    all_sent(page)
    expect(end).to_contain_text("All sent")
    assert ClassOver.objects.get().by == cast.omar
    assert Attempt.objects.count() == 2
    told = Told.objects.order_by("at").values_list("child", "about", "whom")
    assert list(told) == [
        (cast.mai.pk, "head", "guardian-here"),
        (cast.mai.pk, "knee", "other-adult"),
    ]


def test_who_was_not_here_and_a_stop_sign_are_named(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.tam)
    open_class(page, meeting)
    page.locator("#who").tap()
    settle(page)
    page.locator("#roll-grid").get_by_role("button", name="Ilse").tap()
    settle(page)
    page.locator("#roll-done").tap()
    settle(page)
    choose(page, "#all-drills", "Kick to handstand")
    not_clean(page, "Mai").tap()
    settle(page)
    seen = page.locator("#faults .stops .fault").first
    words = seen.text_content() or ""
    seen.tap()
    settle(page)
    page.locator("#faults").get_by_role("button", name="Done").tap()
    settle(page)
    end = end_of_class(page)
    expect(end).to_contain_text("Not here: Ilse.")
    expect(end).to_contain_text("Mai: a stop sign")
    expect(end).to_contain_text(words)
    # An assistant sees all of it, and a coach closes the class.
    expect(end).to_contain_text("A coach says when the class is over.")
    expect(end.get_by_role("button", name="The class is over")).to_be_hidden()
    end.locator(".to-tell").get_by_role("button", name="a parent or guardian, by phone").tap()
    all_sent(page)
    assert Told.objects.get().about == "stop-sign"
    assert ClassOver.objects.count() == 0
