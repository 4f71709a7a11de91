"""Whose lines they are, on a tablet that two people share: with a signature they stay their
author's, whoever's sign-in sends them; under a name that somebody else wrote they are only kept."""

import json

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import Attempt, SigningKey
from studio.models import Meeting
from tests.support.browser.activity import idle
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    box,
    clean,
    not_clean,
    open_class,
)
from tests.support.browser.signed_lines import change_over_to, wait_for_key, wait_until_signed
from tests.support.cast import Cast, time_ordered_id

pytestmark = pytest.mark.delivery


def test_what_one_coach_tapped_goes_out_under_the_next_one_s_sign_in_and_stays_hers_and_graded(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, tablet: None
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    wait_for_key(page)
    page.route("**/attempts", lambda route: route.abort())
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here")
    # Its faults are still being picked when the next one takes over.
    not_clean(page, "Ilse").tap()
    expect(page.locator("#kept")).to_contain_text("2 turns kept here")
    wait_until_signed(page)
    change_over_to(page, "Tam", meeting)
    expect(page.locator("#title")).to_contain_text("Blue")
    # Omar's key went with his sign-in.
    assert {key["author"] for key in box(page)["keys"]} <= {str(cast.tam.uuid)}
    assert SigningKey.objects.get(staff=cast.omar).ended_at is not None
    page.unroute("**/attempts")
    idle(page)
    page.get_by_role("button", name="under their name").click()
    all_sent(page)
    stored = Attempt.objects.order_by("done_at")
    assert {(a.author, a.sender, a.graded, a.proof.kind) for a in stored} == {
        (cast.omar, cast.tam, True, "key")
    }
    assert [a.clean for a in stored] == [True, False]


def test_whose_tap_it_was_outlasts_a_sign_out_a_change_over_a_reload_and_a_second_tab(
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    tablet: None,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    wait_for_key(page)
    context.route("**/attempts", lambda route: route.abort())
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here")
    wait_until_signed(page)
    page.goto("/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")
    expect(page.locator("#lines-here")).to_contain_text("Omar 1")
    change_over_to(page, "Tam", meeting)
    wait_for_key(page)
    expect(page.locator("#kept")).to_contain_text("1 entry of Omar waits here")
    second = context.new_page()
    second.goto(f"/floor/{meeting.uuid}")
    clean(page, "Ilse").tap()
    clean(second, "Mai").tap()
    idle(second)
    page.reload()
    for tab in (page, second):
        expect(tab.locator("#kept")).to_contain_text("2 turns kept here")
        expect(tab.locator("#kept")).to_contain_text("1 entry of Omar waits here")
    context.unroute("**/attempts")
    page.get_by_role("button", name="under their name").click()
    for tab in (page, second):
        all_sent(tab)
    stored = Attempt.objects.order_by("pk")
    assert [(one.author, one.child, one.sender) for one in stored] == [
        (cast.omar, cast.mai, cast.tam),
        (cast.tam, cast.ilse, cast.tam),
        (cast.tam, cast.mai, cast.tam),
    ]
    assert stored[0].proof.kind == "key"
    assert stored[0].graded


def test_a_line_under_a_name_that_somebody_else_wrote_is_kept_and_not_graded(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.tam)
    open_class(page, meeting)
    wait_for_key(page)
    made = [key for key in box(page)["keys"] if key["author"] == str(cast.tam.uuid)]
    now = timezone.now()
    line = {
        "kind": "turn", "id": str(time_ordered_id(now)), "at": now.isoformat(),
        "by": str(cast.omar.uuid), "meeting": str(meeting.uuid), "child": str(cast.mai.uuid),
        "drill": "swing-jump", "surface": "spring-floor", "support": 0, "clean": True,
    }  # fmt: skip
    # Signed with the key of whoever is signed in, since there is no other.
    answer = page.evaluate(
        """async ([line, address, id]) => {
            const database = await new Promise((resolve) => {
                const open = indexedDB.open("floor");
                open.onsuccess = () => resolve(open.result);
            });
            const key = await new Promise((resolve) => {
                const all = database.transaction("keys").objectStore("keys").getAll();
                all.onsuccess = () => resolve(all.result[0].key);
            });
            const sorted = Object.fromEntries(Object.entries(line).sort());
            const bytes = new TextEncoder().encode(JSON.stringify(sorted));
            const how = { name: "ECDSA", hash: "SHA-256" };
            const made = new Uint8Array(await crypto.subtle.sign(how, key, bytes));
            const signature = btoa(String.fromCharCode(...made));
            const body = {
                v: 3, device: "t", sent_at: line.at, lines: [line],
                signed: { [line.id]: { key: id, signature } },
            };
            const token = document.cookie.match(/csrftoken=([^;]+)/)[1];
            const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
            const options = { method: "POST", body: JSON.stringify(body), headers };
            return (await fetch(address, options)).json();
        }""",
        [line, f"/floor/{meeting.uuid}/attempts", made[0]["id"]],
    )
    assert answer["lines"][0]["answer"] == "kept", json.dumps(answer)
    stored = Attempt.objects.get()
    assert (stored.author, stored.sender, stored.graded) == (cast.omar, cast.tam, False)
    assert (stored.proof.kind, stored.proof.awaits) == ("none", "author")


def test_a_browser_that_cannot_sign_says_so_and_sends_all_the_same(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    # As over plain http.
    page.add_init_script("Object.defineProperty(crypto, 'subtle', { value: undefined })")
    signed_in(cast.omar)
    open_class(page, meeting)
    page.route("**/attempts", lambda route: route.abort())
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("trying again")
    page.locator("#kept").get_by_role("button").click()
    expect(page.locator("#sheet")).to_contain_text("This browser cannot sign entries.")
    page.unroute("**/attempts")
    page.get_by_role("button", name="Send now").click()
    all_sent(page)
    stored = Attempt.objects.get()
    assert (stored.author, stored.graded) == (cast.omar, True)
    assert not SigningKey.objects.exists()


def test_a_key_cannot_be_read_out_of_the_browser(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    wait_for_key(page)
    clean(page, "Mai").tap()
    all_sent(page)
    told = page.evaluate(
        """async () => {
            const database = await new Promise((resolve) => {
                const open = indexedDB.open("floor");
                open.onsuccess = () => resolve(open.result);
            });
            const key = await new Promise((resolve) => {
                const all = database.transaction("keys").objectStore("keys").getAll();
                all.onsuccess = () => resolve(all.result[0].key);
            });
            const forms = ["pkcs8", "jwk", "raw"];
            const tries = forms.map((form) => crypto.subtle.exportKey(form, key).then(
                () => "out", () => "kept"));
            return Promise.all(tries);
        }"""
    )
    assert told == ["kept"] * 3
