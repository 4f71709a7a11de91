"""What was tapped arrives once, whatever happens to the server, the tabs and the sign-in."""

import contextlib
import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from playwright.sync_api import BrowserContext, Page, Response, Route, expect

from progression.log.logbook import Keys
from progression.models import Attempt, LadderVersion, RejectedLine, Strike
from readiness.models import DayTally
from studio.models import Meeting
from tests.support import guards
from tests.support.browser.activity import idle, let_pass, settle, wait_until
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    box,
    choose,
    clean,
    kept_on_disk,
    not_clean,
    open_class,
    open_floor,
)
from tests.support.browser.killable import Killable
from tests.support.cast import Cast
from tests.support.guards import lifted

DRILL = "swing-jump"

# Taps on the tiles in turn, each after the one before is on the disk, as fast as that goes.
TAP = """async (times) => {
    const tiles = [...document.querySelectorAll('.tile-main')];
    const pause = (ms) => new Promise((done) => setTimeout(done, ms));
    for (let at = 0; at < times; at += 1) {
        const tile = tiles[at % tiles.length];
        const { x, y } = tile.getBoundingClientRect();
        tile.dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: x, clientY: y }));
        await pause(at % tiles.length === tiles.length - 1 ? 360 : 5);
    }
}"""


def reconnect(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('online'))")


def leave(page: Page) -> None:
    """Before the server is back: an open page would send what it has at its next try."""
    page.goto("about:blank")


def turns_waiting(page: Page) -> int:
    return sum(record["line"]["kind"] == "turn" for record in box(page)["lines"])


def tapped(page: Page, times: int) -> None:
    before = turns_waiting(page)
    page.evaluate(TAP, times)
    idle(page)
    assert turns_waiting(page) == before + times


def each_once(page: Page, expected: int) -> None:
    """So many turns are in the log and in the tallies, and nothing waits."""
    expect(page.locator("#kept")).to_have_text("All sent", timeout=45_000)
    assert kept_on_disk(page) == 0
    assert Attempt.objects.count() == expected
    assert sum(DayTally.objects.values_list("turns", flat=True)) == expected
    assert RejectedLine.objects.count() == 0


def test_a_thousand_turns_logged_with_the_server_stopped_arrive_once(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Swing and jump tall")
    page.evaluate("navigator.serviceWorker.ready.then((found) => found.active.state)")
    all_sent(page)
    killable.stop()
    tapped(page, 390)
    page.reload()
    expect(page.locator("#kept")).to_contain_text("390 turns kept here")
    tapped(page, 310)
    page.reload()
    expect(page.locator("#kept")).to_contain_text("700 turns kept here")
    tapped(page, 300)
    assert Attempt.objects.count() == 0
    killable.start()
    reconnect(page)
    each_once(page, 1000)


@pytest.mark.delivery
@pytest.mark.parametrize("moment", ["written", "committed"])
def test_a_server_killed_five_times_stores_each_turn_once(
    killable: Killable,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    moment: str,
) -> None:
    """Killed between the writing and the commit, or between the commit and the answer."""
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    killable.wrapper = "tests.support.browser.dying:dying"
    for time in range(1, 6):
        tapped(page, 2)
        killable.environment = {"LADDER_DIES": moment}
        killable.start()
        reconnect(page)
        killable.wait_until_dead()
        assert Attempt.objects.count() == (2 * time if moment == "committed" else 0)
        assert turns_waiting(page) >= 2
    killable.environment = {}
    killable.start()
    reconnect(page)
    each_once(page, 10)


@pytest.mark.delivery
def test_two_tabs_that_send_at_the_same_time_store_each_turn_once(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    other = context.new_page()
    other.goto(f"/floor/{meeting.uuid}")
    expect(clean(other, "Mai")).to_be_visible()
    killable.stop()
    tapped(page, 10)
    taken: list[str] = []

    def slowly(route: Route) -> None:
        # A slow network: both tabs have time to try.
        let_pass(other, 300)
        route.continue_()

    def note(answer: Response) -> None:
        # A server that is busy takes nothing, and is sent the same again.
        if answer.url.endswith("/attempts") and answer.ok:
            taken.extend(line["id"] for line in json.loads(answer.request.post_data or "")["lines"])

    context.on("response", note)
    context.route("**/attempts", slowly)
    killable.start()
    for tab in (page, other):
        tab.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        reconnect(tab)
    # One more while they are on their way.
    page.evaluate(TAP, 1)
    for tab in (page, other):
        expect(tab.locator("#kept")).to_have_text("All sent", timeout=30_000)
    each_once(page, 11)
    assert len(taken) == len(set(taken)) == 11
    context.unroute_all(behavior="wait")


@pytest.mark.parametrize("stored", [False, True], ids=["before the server has them", "after"])
def test_a_tab_closed_in_the_middle_of_sending_leaves_the_rest_to_the_other(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    stored: bool,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    other = context.new_page()
    other.goto(f"/floor/{meeting.uuid}")
    expect(clean(other, "Mai")).to_be_visible()
    killable.stop()
    tapped(page, 4)
    held: list[Route] = []

    def never_answered(route: Route) -> None:
        held.append(route)
        if stored:
            route.fetch()

    # Before the server is back, for either tab sends by itself as soon as it can.
    other.route("**/attempts", lambda route: route.abort())
    page.route("**/attempts", never_answered)
    killable.start()
    reconnect(page)
    wait_until(page, lambda: len(held) > 0 and Attempt.objects.count() == (4 if stored else 0))
    other.unroute_all()
    reconnect(other)
    # It waits for its turn.
    other.wait_for_function(
        """async () => {
            const { pending } = await navigator.locks.query();
            return pending.some(({ name }) => name === "floor-send");
        }"""
    )
    assert turns_waiting(other) == 4
    page.close()
    each_once(other, 4)


def test_fifty_lines_outlast_a_sign_in_that_has_run_out(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    tapped(page, 50)
    Session.objects.all().delete()
    killable.start()
    reconnect(page)
    link = page.get_by_role("link", name="Sign in to send 50 turns")
    expect(link).to_be_visible(timeout=20_000)
    assert turns_waiting(page) == 50
    link.click()
    page.get_by_label("Name").fill("omar")
    page.get_by_label("Password").fill("a long enough word")
    page.get_by_role("button", name="Sign in").click()
    each_once(page, 50)


def test_another_coach_sends_what_the_first_one_left_under_their_name(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    cast.ines.classes.add(cast.blue)
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    tapped(page, 3)
    leave(page)
    killable.start()
    signed_in(cast.ines)
    page.goto(f"/floor/{meeting.uuid}")
    waiting = page.get_by_role("button", name="3 entries of Omar wait here")
    expect(waiting).to_be_visible()
    assert Attempt.objects.count() == 0
    waiting.click()
    each_once(page, 3)
    assert {(a.author, a.sender, a.graded) for a in Attempt.objects.all()} == {
        (cast.omar, cast.ines, True)
    }


def test_the_lines_of_a_class_that_is_not_theirs_stay_and_hold_up_nothing(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    red = Meeting.objects.create(group=cast.red, date=meeting.date, starts_at=cast.red.starts_at)
    red.staff.set([cast.ines])
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    tapped(page, 3)
    leave(page)
    killable.start()
    signed_in(cast.ines)
    open_red(page, red)
    page.get_by_role("button", name="3 entries of Omar wait here").click()
    expect(page.locator("#kept")).to_contain_text("that class is not among yours")
    page.evaluate(TAP, 2)
    wait_until(page, lambda: Attempt.objects.count() == 2)
    assert {attempt.author for attempt in Attempt.objects.all()} == {cast.ines}
    wait_until(page, lambda: turns_waiting(page) == 3)
    expect(page.locator("#kept")).to_contain_text("3 entries of Omar wait here")
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    each_once(page, 5)


def open_red(page: Page, meeting: Meeting) -> None:
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 1 child").click()
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", "Swing and jump tall")


def test_a_turn_whose_faults_are_picked_in_one_tab_is_not_sent_by_another(
    context: BrowserContext, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Kick to handstand")
    not_clean(page, "Mai").tap()
    expect(page.locator("#faults")).to_be_visible()
    other = context.new_page()
    other.clock.install()
    other.goto(f"/floor/{meeting.uuid}")
    expect(clean(other, "Mai")).to_be_visible()
    with other.expect_response("**/pack?*"):
        reconnect(other)
    # Whether the page of a draft is gone is looked at every two seconds.
    other.clock.fast_forward(3_000)
    idle(other)
    assert Attempt.objects.count() == 0
    page.get_by_role("button", name="Caught or lifted by the spotter").tap()
    page.locator("#faults").get_by_role("button", name="Done").tap()
    each_once(page, 1)
    assert Attempt.objects.get().caught
    # A tab that is gone has nothing more to say about its turn.
    settle(page)
    not_clean(page, "Ilse").tap()
    expect(page.locator("#faults")).to_be_visible()
    idle(page)
    page.close()
    reconnect(other)
    wait_until(other, lambda: Attempt.objects.count() == 2)
    each_once(other, 2)


def test_a_server_restored_from_an_older_backup_gets_everything_again(
    killable: Killable,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    tmp_path: Path,
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    page.evaluate(TAP, 4)
    all_sent(page)
    restore = back_up(tmp_path / "backup.sqlite3")
    page.evaluate(TAP, 6)
    all_sent(page)
    assert Attempt.objects.count() == 10
    killable.stop()
    restore()
    assert Attempt.objects.count() == 4
    killable.start()
    page.reload()
    wait_until(page, lambda: Attempt.objects.count() == 10)
    each_once(page, 10)
    assert len({record["log"] for record in box(page)["sent"]}) == 1


def back_up(file: Path) -> Callable[[], None]:
    """Copy the database as it is now; answers what puts the copy in its place."""
    if connection.vendor != "sqlite":
        return back_to_four_turns
    connection.ensure_connection()
    copy = sqlite3.connect(file)
    connection.connection.backup(copy)

    def restore() -> None:
        with contextlib.closing(copy):
            copy.backup(connection.connection)

    return restore


def back_to_four_turns() -> None:
    """What the log and the tallies were after the first four."""
    from readiness.record import day_tallies
    from readiness.record.ladders import Ladders

    later = list(Attempt.objects.order_by("pk").values_list("pk", flat=True)[4:])
    touched = set(Attempt.objects.filter(pk__in=later).values_list("child_id", "drill__key", "day"))
    with guards.lifted():
        Attempt.objects.filter(pk__in=later).delete()
    days = day_tallies.stored_turns(touched)
    day_tallies.write(days, day_tallies.tallies_of(days, Ladders()), Keys.load())


def test_bad_lines_stay_in_sight_and_hold_up_no_others(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    tapped(page, 5)
    cast.ilse.classes.clear()
    killable.start()
    reconnect(page)
    look = page.get_by_role("button", name="3 entries need a look")
    expect(look).to_be_visible()
    assert Attempt.objects.count() == 2
    page.reload()
    expect(look).to_be_visible()
    look.click()
    expect(page.locator("#sheet")).to_contain_text("The child is not in this class.")
    assert RejectedLine.objects.count() == 3
    # One is mended: it was Mai's. The others are put away.
    page.get_by_role("button", name="Mend").first.click()
    page.locator("#sheet").get_by_role("button", name="Mai").click()
    expect(page.get_by_role("button", name="Mend")).to_have_count(2)
    put_away = page.get_by_role("button", name="Seen, put away")
    for left in (1, 0):
        put_away.first.click()
        expect(put_away).to_have_count(left)
        settle(page)
    page.get_by_role("button", name="Close").click()
    all_sent(page)
    assert Attempt.objects.filter(child=cast.mai).count() == 3
    assert kept_on_disk(page) == 0


def test_a_turn_at_a_drill_that_the_ladder_lost_is_mended_to_another(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    tapped(page, 1)
    without(DRILL)
    killable.start()
    page.reload()
    page.get_by_role("button", name="1 entry needs a look").click()
    expect(page.locator("#sheet")).to_contain_text("The ladder has changed since.")
    page.get_by_role("button", name="Mend").click()
    page.locator("#sheet").get_by_role("button", name="Log roll").click()
    page.locator("#sheet").get_by_role("button", name="Ilse").click()
    page.get_by_role("button", name="Close").click()
    all_sent(page)
    (mended,) = Attempt.objects.select_related("drill")
    assert (mended.drill.key, mended.child) == ("log-roll", cast.ilse)
    assert kept_on_disk(page) == 0
    # The one that was refused counts for nothing, wherever it may still come from.
    assert Strike.objects.exclude(attempt_id=mended.pk).count() == 1


def without(drill: str) -> None:
    version = LadderVersion.objects.get()
    version.content["drill"] = [d for d in version.content["drill"] if d["key"] != drill]
    for fault in version.content["fault"]:
        fault["mend"] = [mend for mend in fault["mend"] if mend["drill"] != drill]
    with lifted():
        version.save(update_fields=["content"])


def test_what_waits_can_be_saved_to_a_file_without_a_name_in_it(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    killable.stop()
    tapped(page, 3)
    expect(page.locator("#kept")).to_contain_text("no answer", timeout=20_000)
    page.locator("#kept button").click()
    with page.expect_download() as caught:
        page.get_by_role("button", name="Save to a file").click()
    text = Path(caught.value.path()).read_text()
    saved = json.loads(text)
    assert [record["line"]["drill"] for record in saved["records"]] == [DRILL] * 3
    assert not any(name in text for name in ("Mai", "Ilse", "Omar"))
    assert turns_waiting(page) == 3
    # It is brought in at the director's desk; what the tablet sends later was there.
    desk = Client()
    desk.force_login(cast.petra)
    file = SimpleUploadedFile("tablet.json", text.encode())
    assert desk.post("/outbox-file", {"file": file}).status_code == 302
    assert {(a.author, a.sender, a.graded) for a in Attempt.objects.all()} == {
        (cast.omar, cast.petra, True)
    }
    killable.start()
    reconnect(page)
    each_once(page, 3)


def test_a_class_that_was_asked_for_earlier_does_not_overwrite_a_newer_one(
    killable: Killable, page: Page, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    late: list[Route] = []
    bodies: list[str] = []

    def hold_the_first(route: Route) -> None:
        if late:
            route.continue_()
            return
        late.append(route)
        bodies.append(route.fetch().text())

    page.route("**/pack?*", hold_the_first)
    reconnect(page)
    wait_until(page, lambda: len(bodies) == 1)
    with page.expect_response("**/pack?*"):
        page.evaluate(TAP, 2)
        all_sent(page)
    idle(page)
    today = page.locator(".tile", has_text="Mai").locator(".today")
    expect(today).to_contain_text("1 clean of 1 turn")
    with page.expect_event("requestfinished", lambda request: "/pack?" in request.url):
        late[0].fulfill(body=bodies[0], content_type="application/json")
    idle(page)
    expect(today).to_contain_text("1 clean of 1 turn")
