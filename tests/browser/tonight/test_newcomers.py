"""Somebody comes who is not on the list: found in the hall or put down as new, with a turn each."""

from playwright.sync_api import Page, expect

from progression.models import Attempt
from studio.models import Attendance, Child, Meeting, MeetingVisit
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, clean, open_class, tile
from tests.support.cast import Cast


def test_a_child_of_another_class_is_found_and_has_a_tile_for_tonight(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.get_by_role("button", name="Who is here").tap()
    page.get_by_role("button", name="Somebody who is not on the list").tap()
    page.get_by_label("Name", exact=True).fill("osa")
    page.get_by_role("button", name="Find").tap()
    page.get_by_role("button", name="Rosa,").tap()
    settle(page)
    page.get_by_role("button", name="Makes up").tap()
    expect(page.locator("#sheet")).to_be_hidden()
    settle(page)
    page.get_by_role("button", name="On to 3 children").tap()
    expect(tile(page, "Rosa")).to_be_visible()
    settle(page)
    clean(page, "Rosa").tap()
    all_sent(page)
    assert (Attempt.objects.get().child, MeetingVisit.objects.get().why) == (cast.rosa, "make-up")
    assert Attendance.objects.filter(child=cast.rosa, present=True).count() == 1


def test_a_new_child_gets_a_number_and_a_tile(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.get_by_role("button", name="Who is here").tap()
    page.get_by_role("button", name="Somebody who is not on the list").tap()
    page.get_by_role("button", name="A new child, without a name").tap()
    expect(page.locator("#sheet")).to_be_hidden()
    page.get_by_role("button", name="On to 3 children").tap()
    expect(tile(page, "New child 1")).to_be_visible()
    settle(page)
    clean(page, "New child 1").tap()
    all_sent(page)
    assert Attempt.objects.get().child == Child.objects.get(name="New child 1")


def test_without_an_answer_nobody_is_added_and_the_same_tap_again_is_the_same_child(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.get_by_role("button", name="Who is here").tap()
    page.get_by_role("button", name="Somebody who is not on the list").tap()

    def lose_the_answer(route):
        route.fetch()
        route.abort()

    page.route("**/new-child", lose_the_answer)
    page.get_by_role("button", name="A new child, without a name").tap()
    expect(page.locator("#sheet")).to_contain_text("there is no answer")
    page.unroute("**/new-child")
    settle(page)
    page.get_by_role("button", name="A new child, without a name").tap()
    expect(page.locator("#sheet")).to_be_hidden()
    assert Child.objects.filter(birth_year=None).count() == 1
