"""Notes on the floor: one tap or a sentence, on the disk until there is a network, never a line."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, Request, expect

from progression.models import Attempt, RejectedLine
from readiness.models import Note
from studio.models import Meeting
from tests.support.browser.activity import settle, wait_until
from tests.support.browser.floor_taps import SignIn, all_sent, box, clean, open_class, open_floor
from tests.support.browser.store_failures import FAILURES, PRIVATE, QUOTA
from tests.support.cast import Cast

TYPED = "was glad about the first handstand"


def write(page: Page, child: str, text: str) -> None:
    """At the end of class, in one's own words."""
    if page.locator("#end").is_hidden():
        page.get_by_role("button", name="End of class").tap()
        settle(page)
    page.locator("#end").get_by_role("button", name=child, exact=True).tap()
    settle(page)
    page.locator("#note-text").fill(text)
    page.get_by_role("button", name="Keep the note").tap()
    settle(page)
    expect(page.locator("#sheet")).to_be_hidden()


def notes_part(page: Page) -> Locator:
    return page.locator("#end .before-part").filter(
        has=page.get_by_role("heading", name="Notes", exact=True)
    )


def test_typed_text_waits_on_the_disk_and_goes_by_its_own_call(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, tmp_path: Path
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    lines: list[str] = []

    def keep(asked: Request) -> None:
        if asked.url.endswith("/attempts"):
            lines.append(asked.post_data or "")

    page.on("request", keep)
    page.context.set_offline(True)
    clean(page, "Mai").tap()
    settle(page)
    write(page, "Mai", TYPED)
    expect(notes_part(page)).to_contain_text("1 note waits on this tablet for the network.")
    held = box(page)
    assert TYPED not in json.dumps(held["lines"])
    assert TYPED in json.dumps(held["facts"])
    # Killed and opened again without a network, it is still there; the saved file has none of it.
    page.reload()
    expect(page.locator("#kept")).to_contain_text("no answer", timeout=20_000)
    page.locator("#kept button").first.tap()
    settle(page)
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save to a file").tap()
    saved = tmp_path / "saved.json"
    saving.value.save_as(saved)
    assert str(cast.mai.uuid) in saved.read_text()
    assert TYPED not in saved.read_text()
    page.locator("#sheet-close").tap()
    page.context.set_offline(False)
    all_sent(page)
    wait_until(page, Note.objects.exists)
    kept = Note.objects.get()
    assert (kept.child, kept.by, kept.text, kept.turn) == (cast.mai, cast.omar, TYPED, None)
    page.wait_for_function(
        """() => new Promise((done) => {
            const open = indexedDB.open("floor");
            open.onsuccess = () => {
                const all = open.result.transaction("facts").objectStore("facts").getAllKeys();
                all.onsuccess = () => {
                    open.result.close();
                    done(!all.result.some((name) => name.startsWith("note ")));
                };
            };
        })"""
    )
    assert TYPED not in "".join(lines)
    assert RejectedLine.objects.count() == 0


def test_one_tap_notes_a_child_or_a_turn(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.tam)
    open_class(page, meeting)
    clean(page, "Mai").tap()
    all_sent(page)
    sheet = page.locator("#sheet")
    page.locator("#about").tap()
    settle(page)
    sheet.get_by_role("button", name="Ilse", exact=True).tap()
    settle(page)
    sheet.get_by_role("button", name="new shoes", exact=True).tap()
    settle(page)
    expect(sheet).to_be_hidden()
    page.locator("#last-turns").tap()
    settle(page)
    sheet.get_by_role("button", name="Log again").tap()
    settle(page)
    sheet.get_by_role("button", name="asked for hands", exact=True).tap()
    settle(page)
    page.locator("#sheet-close").tap()
    wait_until(page, lambda: Note.objects.count() == 2)
    turn = Attempt.objects.get()
    notes = {(note.child_id, note.text, note.turn) for note in Note.objects.all()}
    assert notes == {
        (cast.ilse.pk, "new shoes", None),
        (cast.mai.pk, "asked for hands", turn.pk),
    }


def full(page: Page) -> None:
    page.evaluate(QUOTA)


@pytest.mark.parametrize("fail", [*FAILURES.values(), full], ids=[*FAILURES, "full"])
def test_a_note_goes_out_though_the_store_fails_under_the_page(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting, fail: Callable[[Page], None]
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.context.set_offline(True)
    write(page, "Mai", TYPED)
    fail(page)
    write(page, "Ilse", TYPED)
    expect(notes_part(page)).to_contain_text("2 notes wait on this tablet for the network.")
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until(page, lambda: Note.objects.count() == 2)
    assert {note.child for note in Note.objects.all()} == {cast.mai, cast.ilse}
    expect(notes_part(page)).not_to_contain_text("on this tablet for the network")


def test_what_a_full_disk_refused_of_a_note_is_written_when_there_is_room_again(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.context.set_offline(True)
    page.evaluate(QUOTA)
    write(page, "Mai", TYPED)
    page.evaluate("freeTheDisk()")
    page.evaluate("dispatchEvent(new Event('online'))")
    settle(page)
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until(page, Note.objects.exists)
    assert Note.objects.count() == 1


def test_in_a_private_window_a_note_goes_out_at_once(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    page.add_init_script(PRIVATE)
    signed_in(cast.omar)
    open_floor(page, thirty, "Swing and jump tall")
    expect(page.locator("#kept")).to_contain_text("This browser keeps nothing")
    write(page, "Mai", TYPED)
    wait_until(page, Note.objects.exists)
    assert Note.objects.get().text == TYPED
