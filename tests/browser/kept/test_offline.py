"""The floor page with the server really stopped, and nobody's class left for anybody else."""

import json
import re

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import BrowserContext, Page, Route, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import wait_until
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    box,
    choose,
    clean,
    kept_on_disk,
    open_class,
    tile,
)
from tests.support.browser.killable import Killable
from tests.support.cast import Cast


def readable(page: Page) -> str:
    """Whatever scripts and eyes on this page can read: text, stores, caches."""
    elsewhere = page.evaluate(
        """async () => {
            const found = [document.documentElement.outerHTML, document.title,
                JSON.stringify(localStorage), JSON.stringify(sessionStorage), document.cookie];
            for (const { name } of await indexedDB.databases()) found.push(name);
            for (const name of await caches.keys()) {
                const cache = await caches.open(name);
                for (const request of await cache.keys()) {
                    const response = await cache.match(request);
                    found.push(request.url, await response.text());
                }
            }
            return found.join("\\n");
        }"""
    )
    return str(elsewhere) + json.dumps(box(page))


def names_in(text: str) -> list[str]:
    return [name for name in ("Mai", "Ilse") if re.search(rf"\b{name}\b", text)]


def test_a_class_that_was_opened_goes_on_after_a_reload_with_the_server_stopped(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    clean(page, "Mai").tap()
    all_sent(page)
    killable.stop()
    page.reload()
    expect(page.locator("#notes")).to_contain_text("No network. Everything here goes on working")
    expect(tile(page, "Mai")).to_contain_text("today 1 clean of 1 turn")
    clean(page, "Mai").tap()
    clean(page, "Ilse").tap()
    expect(page.locator("#kept")).to_contain_text("2 turns kept here, not sent yet")
    page.reload()
    expect(page.locator("#kept")).to_contain_text("2 turns kept here, not sent yet")
    expect(tile(page, "Mai")).to_contain_text("today 2 clean of 2 turns")
    killable.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#kept")).to_have_text("All sent")
    expect(page.locator("#notes")).not_to_contain_text("No network")
    assert Attempt.objects.count() == 3


def test_the_page_opens_cold_with_the_server_stopped(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.close()
    killable.stop()
    cold = context.new_page()
    cold.goto("/floor/")
    cold.get_by_role("link", name="17:30 · Blue").click()
    expect(clean(cold, "Mai")).to_be_visible()
    clean(cold, "Mai").tap()
    expect(cold.locator("#kept")).to_contain_text("1 turn kept here, not sent yet")
    assert kept_on_disk(cold) == 1
    cold.locator("#all-drills").click()
    expect(cold.locator("#sheet")).to_contain_text("Wall shrugs")


@pytest.mark.parametrize("token", [True, False], ids=["token at hand", "token gone"])
def test_a_line_that_waits_is_sent_from_the_list_of_classes_as_well(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, token: bool
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here, not sent yet")
    if not token:
        page.context.clear_cookies(name="csrftoken")
    page.goto("/floor/")
    killable.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#kept")).to_have_text("All sent")
    assert Attempt.objects.count() == 1


def test_packs_are_gone_at_the_first_opening_after_their_day(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    assert names_in(readable(page)) == ["Mai", "Ilse"]
    set_day_back(page)
    killable.stop()
    page.goto("/floor/")
    expect(page.locator("#classes")).to_contain_text("No class is kept on this tablet")
    assert box(page)["packs"] == []
    assert names_in(readable(page)) == []
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#trouble")).to_contain_text("The class could not be fetched")


def set_day_back(page: Page) -> None:
    page.evaluate(
        """() => new Promise((resolve) => {
            const open = indexedDB.open("floor");
            open.onsuccess = () => {
                const writing = open.result.transaction("packs", "readwrite");
                const store = writing.objectStore("packs");
                store.getAll().onsuccess = (event) => {
                    for (const kept of event.target.result) {
                        const yesterday = Date.parse(kept.pack.meeting.over_at) - 86_400_000;
                        kept.pack.meeting.over_at = new Date(yesterday).toISOString();
                        store.put(kept);
                    }
                };
                writing.oncomplete = () => { open.result.close(); resolve(); };
            };
        })"""
    )


def test_a_second_coach_can_read_no_name_and_the_first_ones_lines_still_wait(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here, not sent yet")
    # Before the server is back: an open page would send what it has at its next try.
    page.goto("about:blank")
    killable.start()
    # As at a sign-in that found no sign-out before.
    signed_in(cast.ines)
    page.goto("/")
    expect(page.get_by_role("heading", name="Tonight")).to_be_visible()
    page.wait_for_function("indexedDB.databases().then((all) => all.length > 0)")
    expect_no_pack(page)
    for path in ("/floor/", f"/floor/{meeting.uuid}"):
        page.goto(path)
        expect(page.locator("#opening")).to_be_hidden()
        text = readable(page)
        assert names_in(text) == []
        assert str(meeting.uuid) in text
    assert [line["author"] for line in box(page)["lines"]] == [str(cast.omar.uuid)]
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#kept")).to_have_text("All sent")
    assert Attempt.objects.get().author == cast.omar


def expect_no_pack(page: Page) -> None:
    wait_until(page, lambda: box(page).get("packs") == [], 5)


def test_a_sign_in_in_another_tab_takes_the_class_off_the_screen(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    signed_in(cast.ines)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator("#trouble")).to_contain_text("This class is not among yours.")
    assert names_in(readable(page)) == []


def test_an_ended_sign_in_keeps_the_class_and_asks_for_a_sign_in(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    key = signed_in(cast.omar)
    open_class(page, meeting)
    Session.objects.filter(pk=key).delete()
    page.reload()
    expect(page.locator("#notes")).to_contain_text("Your sign-in has ended. The class stays here")
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("Sign in to send 1 turn")
    assert kept_on_disk(page) == 1
    signed_in(cast.omar)
    page.reload()
    expect(page.locator("#kept")).to_have_text("All sent")
    assert Attempt.objects.count() == 1


def test_a_class_that_is_taken_away_from_somebody_is_wiped(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    cast.blue.staff.remove(cast.omar)
    meeting.staff.remove(cast.omar)
    page.reload()
    expect(page.locator("#trouble")).to_contain_text("This class is not among yours.")
    assert names_in(readable(page)) == []


def test_signing_out_wipes_the_classes_and_keeps_what_waits(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here, not sent yet")
    # Refused before the server is back: the page sends by itself as soon as it can.
    page.route("**/attempts", lambda route: route.abort())
    killable.start()
    page.goto("/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")
    assert page.evaluate("document.cookie.includes('whose')") is False
    stores = box(page)
    assert stores["packs"] == []
    assert len(stores["lines"]) == 1
    assert names_in(readable(page)) == []
    # The browser's way back leads to nothing either.
    page.go_back()
    page.wait_for_url("**/sign-in**")


def test_signing_out_without_a_network_wipes_all_the_same_and_says_what_is_left(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.goto(f"/classes/{cast.blue.uuid}")
    expect(page.locator("main")).to_contain_text("Mai")
    killable.stop()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("alert")).to_contain_text("as soon as there is a network")
    assert box(page)["packs"] == []
    assert names_in(readable(page)) == []


# What the page says of itself


def test_over_plain_http_the_page_says_that_it_cannot_be_kept_and_logs_all_the_same(
    context: BrowserContext, home: str, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    """An address that is not this machine's own is no secure context (W3C, Secure Contexts)."""
    plain = "http://studio.test"
    key = signed_in(cast.omar)
    context.add_cookies([{"name": "sessionid", "value": key, "url": plain, "httpOnly": True}])
    context.route(f"{plain}/**", lambda route: from_the_site(route, plain, home))
    page = context.new_page()
    page.goto(f"{plain}/floor/{meeting.uuid}")
    assert page.evaluate("isSecureContext") is False
    page.get_by_role("button", name="On to who is here").click()
    expect(page.locator("#notes")).to_contain_text("This page cannot be opened without the network")
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 2 children").click()
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", "Swing and jump tall")
    clean(page, "Mai").tap()
    all_sent(page)
    turn = Attempt.objects.get()
    assert turn.pk.version == 7
    page.close()


def from_the_site(route: Route, plain: str, home: str) -> None:
    request = route.request
    headers = request.headers | {"origin": home, "referer": home, "host": home[7:]}
    headers["cookie"] = request.all_headers().get("cookie", "")
    address = request.url.replace(plain, home)
    route.fulfill(response=route.fetch(url=address, headers=headers, max_redirects=0))


@pytest.mark.parametrize("granted", [True, False])
def test_the_browser_is_asked_once_to_keep_the_store_and_a_no_is_told(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, granted: bool
) -> None:
    answer = "true" if granted else "false"
    page.add_init_script(
        f"""navigator.storage.persisted = async () => false;
        navigator.storage.persist = async () => {{
            const asked = Number(localStorage.getItem("asked") ?? 0) + 1;
            localStorage.setItem("asked", asked);
            return {answer};
        }};"""
    )
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    page.wait_for_function("localStorage.getItem('asked') === '1'")
    no = "This browser does not promise to keep what waits here"
    if granted:
        expect(page.locator("#notes")).not_to_contain_text(no)
        return
    expect(page.locator("#notes")).to_contain_text(no)
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 2 children").click()
    expect(page.locator("#notes")).not_to_contain_text(no)
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", "Swing and jump tall")
    page.route("**/attempts", lambda route: route.abort())
    page.reload()
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("trying again")
    page.locator("#kept").get_by_role("button").click()
    expect(page.locator("#sheet")).to_contain_text(no)
    expect(page.locator("#sheet")).to_contain_text("This page works without the network as well")
    assert page.evaluate("localStorage.getItem('asked')") == "1"
