"""A newer release: nothing that waits is lost, and no page gets scripts of two releases."""

import json
import shutil
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.test import override_settings
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.activity import idle, let_pass
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    box,
    clean,
    kept_on_disk,
    not_clean,
    open_class,
    wait_for_worker,
)
from tests.support.browser.killable import Killable
from tests.support.cast import Cast, time_ordered_id

MARK = '\ndocument.documentElement.dataset.release = "newer";\n'
NOTE = "A newer page is ready."
# An address of the site whose page opens no database by itself.
ELSEWHERE = "/floor/manifest.webmanifest"

MAKE_VERSION_1 = """(records) => new Promise((resolve, reject) => {
    const open = indexedDB.open("floor", 1);
    open.onerror = () => reject(open.error);
    open.onupgradeneeded = () => {
        open.result.createObjectStore("lines", { keyPath: "id" });
        open.result.createObjectStore("facts", { keyPath: "name" });
    };
    open.onsuccess = () => {
        const writing = open.result.transaction(["lines", "facts"], "readwrite");
        for (const record of records) writing.objectStore("lines").put(record);
        writing.objectStore("facts").put({ name: "device", value: "tablet-of-old" });
        writing.oncomplete = () => { self.old = open.result; resolve(); };
    };
})"""


@pytest.fixture
def newer(tmp_path: Path) -> Path:
    """Static files of a release in which one script differs."""
    source, target = tmp_path / "source", tmp_path / "newer"
    shutil.copytree(settings.STATICFILES_DIRS[0], source)
    with (source / "floor" / "main.js").open("a", encoding="utf-8") as script:
        script.write(MARK)
    with override_settings(STATICFILES_DIRS=[source], STATIC_ROOT=target):
        call_command("collectstatic", interactive=False, verbosity=0)
    return target


def release(killable: Killable, static: Path) -> None:
    killable.stop()
    killable.static = static
    killable.start()


def look_for_newer(page: Page) -> str:
    """How the newest worker ended up, after the browser has looked for one."""
    found: str = page.evaluate(
        """async () => {
            const registration = await navigator.serviceWorker.ready;
            try { await registration.update(); } catch { return "none"; }
            const coming = registration.installing;
            if (!coming) return registration.waiting ? "waits" : "none";
            return new Promise((resolve) => {
                coming.onstatechange = () => {
                    if (coming.state === "installed") resolve("waits");
                    if (coming.state === "redundant") resolve("failed");
                };
            });
        }"""
    )
    return found


def shown_release(page: Page) -> str:
    shown: str = page.evaluate("document.documentElement.dataset.release ?? 'older'")
    return shown


def take_newer(page: Page) -> None:
    # A tab behind another one is drawn when it comes to the front, and a button that has only
    # just come does nothing for 800 ms.
    page.bring_to_front()
    # While the server was away the page may have said that there is no network.
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.get_by_role("button", name="Take it now")).to_be_visible()
    let_pass(page, 850)
    page.get_by_role("button", name="Take it now").tap()


def caches(page: Page) -> list[str]:
    names: list[str] = page.evaluate("caches.keys()")
    return names


def test_a_newer_page_is_offered_between_turns_and_comes_with_one_tap(
    killable: Killable, newer: Path, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    clean(page, "Mai").tap()
    clean(page, "Ilse").tap()
    expect(page.locator("#kept")).to_contain_text("2 turns kept here, not sent yet")
    page.route("**/attempts", lambda route: route.abort())
    killable.static = newer
    killable.start()
    before = caches(page)
    page.reload()
    assert shown_release(page) == "older"
    assert look_for_newer(page) == "waits"
    expect(page.locator("#notes")).to_contain_text(NOTE)
    # Not in the middle of a turn.
    not_clean(page, "Mai").tap()
    expect(page.locator("#faults")).to_be_visible()
    expect(page.locator("#notes")).not_to_contain_text(NOTE)
    page.get_by_role("button", name="Done").tap()
    expect(page.locator("#kept")).to_contain_text("3 turns kept here, not sent yet")
    loads: list[str] = []
    page.on("load", lambda loaded: loads.append(loaded.url))
    take_newer(page)
    expect(page.locator("html")).to_have_attribute("data-release", "newer")
    expect(page.locator("#kept")).to_contain_text("3 turns kept here, not sent yet")
    expect(page.locator("#notes")).not_to_contain_text(NOTE)
    wait_for_worker(page)
    idle(page)
    assert len(loads) == 1
    assert len(caches(page)) == 1
    assert caches(page) != before
    page.unroute("**/attempts")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#kept")).to_have_text("All sent")
    assert Attempt.objects.count() == 3


def test_a_page_left_open_goes_on_with_its_own_scripts_and_its_lines_are_taken(
    killable: Killable, newer: Path, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    # From the first load on that the worker answers, the page is in its hands.
    page.reload()
    release(killable, newer)
    assert look_for_newer(page) == "waits"
    clean(page, "Mai").tap()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    assert Attempt.objects.count() == 1
    # Without a network the older release is whole.
    killable.stop()
    page.reload()
    assert shown_release(page) == "older"
    expect(clean(page, "Mai")).to_be_visible()


def test_the_newer_page_takes_over_once_the_last_page_is_closed(
    killable: Killable,
    newer: Path,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    release(killable, newer)
    assert look_for_newer(page) == "waits"
    page.close()
    killable.stop()
    cold = context.new_page()
    cold.goto(f"/floor/{meeting.uuid}")
    expect(clean(cold, "Mai")).to_be_visible()
    assert shown_release(cold) == "newer"


def test_another_tab_is_told_and_keeps_its_scripts_until_it_is_loaded_again(
    killable: Killable,
    newer: Path,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.reload()
    other = context.new_page()
    other.goto(f"/floor/{meeting.uuid}")
    release(killable, newer)
    assert look_for_newer(page) == "waits"
    take_newer(page)
    expect(page.locator("html")).to_have_attribute("data-release", "newer")
    other.evaluate("dispatchEvent(new Event('online'))")
    expect(other.locator("#notes")).to_contain_text(NOTE)
    assert shown_release(other) == "older"
    clean(other, "Mai").tap()
    all_sent(other)
    take_newer(other)
    expect(other.locator("html")).to_have_attribute("data-release", "newer")


@pytest.mark.parametrize("trouble", ["missing", "redirect"])
def test_a_newer_page_that_cannot_be_fetched_whole_leaves_the_older_in_charge(
    killable: Killable,
    newer: Path,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    trouble: str,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    before = caches(page)
    if trouble == "missing":
        for file in (newer / "floor").glob("main.*"):
            file.unlink()
    else:
        killable.wrapper = "tests.browser.test_updates:redirects_a_script"
    release(killable, newer)
    assert look_for_newer(page) == "failed"
    expect(page.locator("#notes")).not_to_contain_text(NOTE)
    page.reload()
    assert shown_release(page) == "older"
    expect(clean(page, "Mai")).to_be_visible()
    killable.stop()
    page.reload()
    expect(clean(page, "Mai")).to_be_visible()
    assert before[0] in caches(page)


def redirects_a_script(site):
    """Like a network that asks for a sign-in of its own before it lets anything through."""

    def served(environ, start):
        if "/floor/main." in environ["PATH_INFO"]:
            start("302 Found", [("Location", "/sign-in"), ("Content-Length", "0")])
            return [b""]
        return site(environ, start)

    return served


def test_a_page_of_another_release_than_its_worker_is_not_kept(
    killable: Killable, newer: Path, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    """As when the release changes between the two answers, or one of two servers is older."""
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.wrapper = "tests.browser.test_updates:older_page"
    release(killable, newer)
    assert look_for_newer(page) == "failed"
    page.reload()
    assert shown_release(page) == "older"
    expect(clean(page, "Mai")).to_be_visible()


def older_page(site):
    def served(environ, start):
        answer = site(environ, start)
        if environ["PATH_INFO"] == "/floor/shell":
            return [b"".join(answer).replace(b"Fetching", b"fetching")]
        return answer

    return served


def test_a_worker_whose_cache_is_gone_asks_the_network_and_fills_it_again(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.evaluate("caches.keys().then((names) => Promise.all(names.map((n) => caches.delete(n))))")
    page.reload()
    expect(clean(page, "Mai")).to_be_visible()
    page.wait_for_function("caches.match('/floor/shell').then((found) => found !== undefined)")
    killable.stop()
    page.reload()
    expect(clean(page, "Mai")).to_be_visible()


def test_nothing_that_the_worker_keeps_is_personal(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    kept = page.evaluate(
        """async () => {
            const [name] = await caches.keys();
            const cache = await caches.open(name);
            return (await cache.keys()).map((request) => new URL(request.url).pathname);
        }"""
    )
    assert {path for path in kept if not path.startswith("/static/")} == {
        "/floor/shell",
        "/floor/words",
    }
    loaded = page.evaluate(
        """performance.getEntriesByType("resource").map((one) => new URL(one.name).pathname)"""
    )
    static = {path for path in loaded if path.startswith("/static/")}
    assert static <= set(kept)


# The tablet's database


def line(cast: Cast, meeting: Meeting, count: int) -> dict[str, object]:
    """A line as version 1 of the database held it, waiting."""
    now = timezone.now()
    key = str(time_ordered_id(now, count))
    turn = {
        "kind": "turn", "id": key, "at": now.isoformat(), "child": str(cast.mai.uuid),
        "drill": "swing-and-jump", "surface": "spring-floor", "support": 0, "clean": True,
    }  # fmt: skip
    return {
        "id": key, "meeting": str(meeting.uuid), "author": str(cast.omar.uuid),
        "at": int(now.timestamp() * 1000), "draft": count == 0, "line": turn, "answer": None,
        "code": None,
    }  # fmt: skip


def turn_now(page: Page, cast: Cast, meeting: Meeting, drill: str) -> list[dict[str, object]]:
    records = [line(cast, meeting, count) for count in range(5)]
    for record in records:
        record["line"]["drill"] = drill
    page.evaluate(MAKE_VERSION_1, records)
    return records


def test_a_database_of_version_1_keeps_every_line_and_they_are_sent(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    page.goto(ELSEWHERE)
    records = turn_now(page, cast, meeting, "swing-jump")
    page.evaluate("self.old.close()")
    page.route("**/attempts", lambda route: route.abort())
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#kept")).to_contain_text("5 turns kept here, not sent yet")
    stores = box(page)
    assert sorted(stores) == ["facts", "keys", "lines", "packs", "sent"]
    assert [kept["line"] for kept in stores["lines"]] == [made["line"] for made in records]
    assert {"name": "device", "value": "tablet-of-old"} in stores["facts"]
    page.unroute("**/attempts")
    page.reload()
    expect(page.locator("#kept")).to_have_text("All sent")
    assert {str(turn.pk) for turn in Attempt.objects.all()} == {made["id"] for made in records}
    sent = box(page)["sent"]
    assert [kept["line"] for kept in sent] == [made["line"] for made in records]


def test_an_older_page_left_open_makes_way(
    context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    older = context.new_page()
    older.goto(ELSEWHERE)
    turn_now(older, cast, meeting, "swing-jump")
    older.evaluate("() => { self.old.onversionchange = () => self.old.close(); }")
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    assert sorted(box(page)) == ["facts", "keys", "lines", "packs", "sent"]


def test_an_older_page_that_does_not_make_way_is_named_and_waited_for(
    context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    older = context.new_page()
    older.goto(ELSEWHERE)
    turn_now(older, cast, meeting, "swing-jump")
    page.goto(f"/floor/{meeting.uuid}")
    expect(page.locator("#opening")).to_contain_text("still open in another tab. Close it")
    older.close()
    page.get_by_role("button", name="On to who is here").click()
    expect(page.locator("#kept")).to_have_text("All sent")
    assert Attempt.objects.count() == 5


def test_a_running_class_keeps_its_lines_when_a_newer_page_changes_the_stores(
    context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.route("**/attempts", lambda route: route.abort())
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 turn kept here")
    later = context.new_page()
    later.goto(ELSEWHERE)
    later.evaluate(
        """() => new Promise((resolve, reject) => {
            const open = indexedDB.open("floor", 99);
            open.onupgradeneeded = () => open.result.createObjectStore("more");
            open.onerror = () => reject(open.error);
            open.onsuccess = () => { open.result.close(); resolve(); };
        })"""
    )
    clean(page, "Ilse").tap()
    expect(page.locator("#kept")).to_contain_text("2 turns kept here")
    expect(page.locator("#kept")).not_to_contain_text("keeps nothing")
    assert kept_on_disk(page) == 2


def test_what_was_acknowledged_can_be_put_back_into_the_queue(
    page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    """The store's own methods, each in one transaction."""
    signed_in(cast.omar)
    page.goto(ELSEWHERE)
    address = f"/static/{hashed('floor/store/line_store.js')}"
    records = [line(cast, meeting, count) for count in range(3)]
    told = page.evaluate(
        """async ([address, records]) => {
            const { openStore } = await import(address);
            const store = await openStore();
            const ids = records.map(({ id }) => id);
            await store.put(records);
            await store.acknowledge(records.slice(0, 2), "log-1", 1000);
            const told = { waits: (await store.all()).length };
            told.other = (await store.sentUnderOtherLogs("log-2")).length;
            told.same = (await store.sentUnderOtherLogs("log-1")).length;
            await store.requeue([ids[0], "unknown"]);
            told.again = await store.all();
            told.sent = (await store.sentUnderOtherLogs(null)).map(({ id }) => id);
            await store.deleteSentBefore(1000);
            told.kept = (await store.sentUnderOtherLogs(null)).length;
            await store.deleteSentBefore(1001);
            told.forgotten = (await store.sentUnderOtherLogs(null)).length;
            return told;
        }""",
        [address, records],
    )
    first, second, third = (record["id"] for record in records)
    assert told["waits"] == 1
    assert told["other"] == 2
    assert told["same"] == 0
    assert [each["id"] for each in told["again"]] == [first, third]
    assert told["again"][0]["answer"] is None
    assert told["again"][0]["draft"] is False
    assert abs(told["again"][0]["at"] - records[0]["at"]) < 2
    assert told["sent"] == [second]
    assert (told["kept"], told["forgotten"]) == (1, 0)


def hashed(name: str) -> str:
    manifest = Path(settings.STATIC_ROOT) / "staticfiles.json"
    paths: dict[str, str] = json.loads(manifest.read_text(encoding="utf-8"))["paths"]
    return paths[name]
