"""A shared tablet in a real browser: from one coach's floor to the next one's, by PIN."""

from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, Route, expect
from pytest_django.live_server_helper import LiveServer

from studio.models import Meeting, SignInTry
from studio.sign_in.pins import set_pin
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.browser.floor_taps import PIN, SignIn
from tests.support.cast import Cast


def change_over(page: Page):
    return page.get_by_role("link", name="Change over")


def press(page: Page, digits: str) -> None:
    for digit in digits:
        page.get_by_role("button", name=digit, exact=True).tap()


def test_the_next_coach_takes_over_in_nine_taps_and_is_on_the_same_floor(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, tablet: None
) -> None:
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    change_over(page).tap()
    page.get_by_role("link", name="Tam").tap()
    press(page, PIN)
    page.wait_for_url(f"**/floor/{meeting.uuid}")
    expect(page.locator("#title")).to_contain_text("Blue")
    asked = page.evaluate("fetch(location.pathname + '/pack').then((answer) => answer.json())")
    assert asked["me"]["name"] == "Tam"
    assert asked["tablet"]["name"] == "Blue case"
    assert [each["name"] for each in asked["tablet"]["people"]] == ["Omar", "Tam"]


def test_digits_tapped_while_the_page_is_still_loading_are_kept(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, tablet: None
) -> None:
    signed_in(cast.omar)
    page.goto("/change-over")
    # The page is loaded once its picture is there: until then it waits.
    waiting: list[Route] = []
    page.route("**/img/mark.*", lambda route: waiting.append(route))
    page.get_by_role("link", name="Tam").tap()
    press(page, PIN[:3])
    assert page.evaluate("document.readyState") == "interactive"
    for route in waiting:
        route.continue_()
    page.unroute("**/img/mark.*")
    page.wait_for_load_state("load")
    press(page, PIN[3:])
    page.wait_for_url(lambda url: "change-over" not in url)


def test_without_the_network_it_says_so_and_the_page_stays(
    page: Page,
    context: BrowserContext,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    tablet: None,
) -> None:
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(change_over(page)).to_be_visible()
    context.set_offline(True)
    change_over(page).tap()
    expect(page.locator("#sheet")).to_contain_text("Changing over needs the network")
    assert page.url.endswith(f"/floor/{meeting.uuid}")
    context.set_offline(False)
    page.get_by_role("button", name="Close").tap()
    change_over(page).tap()
    page.wait_for_url("**/change-over?*")


def test_on_a_device_that_is_not_enrolled_there_is_no_such_link(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#title")).to_contain_text("Blue")
    expect(change_over(page)).to_be_hidden()


def test_a_wrong_digit_can_be_erased_and_a_wrong_pin_typed_again(
    page: Page, cast: Cast, tablet: None
) -> None:
    page.goto(f"/change-over?who={cast.omar.uuid}")
    press(page, "49028")
    page.get_by_role("button", name="Erase").tap()
    page.get_by_role("button", name="Erase").tap()
    press(page, "273")
    expect(page).to_have_title("Tonight · Backward Ladder")
    page.goto(f"/change-over?who={cast.tam.uuid}")
    press(page, "518207")
    expect(page.get_by_text("Not this PIN")).to_be_visible()
    press(page, PIN)
    expect(page).to_have_title("Tonight · Backward Ladder")
    assert SignInTry.objects.count() == 3


def test_the_keys_are_made_for_hands(page: Page, cast: Cast, tablet: None) -> None:
    for width, height in ((1180, 820), (820, 1180), (390, 844)):
        page.set_viewport_size({"width": width, "height": height})
        page.goto(f"/change-over?who={cast.omar.uuid}")
        for key in page.locator(".pin-sheet .btn:not(.quiet)").all():
            box = key.bounding_box()
            assert box is not None
            assert min(box["width"], box["height"]) >= 64, (width, key.inner_text())
        page.goto("/change-over")
        for name in page.locator(".names .btn").all():
            box = name.bounding_box()
            assert box is not None
            assert min(box["width"], box["height"]) >= 64


def test_it_works_with_no_script_at_all(browser, live_server: LiveServer, cast: Cast) -> None:
    set_pin(cast.omar, PIN, timezone.now())
    _tablet, secret = enrol("Blue case", cast.hall, cast.petra, timezone.now())
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies([{"name": COOKIE, "value": secret, "url": live_server.url}])
    page = context.new_page()
    page.goto("/change-over")
    page.get_by_role("link", name="Omar").click()
    expect(page.locator(".pin-keys")).to_be_hidden()
    page.get_by_label("PIN").fill(PIN)
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_title("Tonight · Backward Ladder")
    context.close()
