"""The ways to log a turn: the hold clock, the rep counter, the whole line, grades by drawing."""

import re
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from progression.models import Attempt, Strike
from studio.models import Child, Meeting, Staff
from studio.sign_in.owner_cookie import COOKIE
from tests.support.browser.activity import REDRAWN, WATCH, idle, let_pass, settle
from tests.support.browser.chromium import CHROMIUM, FLAGS, TABLET
from tests.support.browser.floor_taps import all_sent, choose, open_class, open_floor, tile
from tests.support.cast import Cast

SignIn = Callable[[Staff], str]
Moment = tuple[float, float]

HOLD = "Hollow hold"


def values() -> dict[str, float | None]:
    return {attempt.child.called: attempt.value for attempt in attempts()}


def attempts() -> list[Attempt]:
    return list(Attempt.objects.select_related("child").order_by("pk"))


def in_class_order(meeting: Meeting) -> list[str]:
    children = Child.objects.filter(classes=meeting.group)
    return sorted(child.called for child in children)


def open_hold_clock(page: Page, meeting: Meeting) -> None:
    open_floor(page, meeting, HOLD)
    page.get_by_role("button", name="Hold clock").click()
    expect(page.locator(".held")).to_have_count(30)
    settle(page)


def press(page: Page, selector: str, text: str) -> Moment:
    """Press something at once, with no waiting of the driver's; between which moments of this
    process's own clock it came down."""
    box = page.locator(selector, has_text=re.compile(f"^{text}")).bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    before = time.monotonic()
    page.mouse.down()
    after = time.monotonic()
    page.mouse.up()
    return before, after


def start(page: Page) -> Moment:
    return press(page, "#hold-head button", "Start")


def wait_for_clock(page: Page, seconds: float) -> None:
    """Until the hold clock on the page shows so much."""
    page.wait_for_function(
        "least => Number(document.getElementById('hold-time').textContent) >= least",
        arg=seconds,
        timeout=150_000,
    )


def stop(page: Page, name: str) -> Moment:
    return press(page, ".held", name)


def agrees(value: float | None, began: Moment, ended: Moment) -> bool:
    """To a tenth of a second: tenths are rounded down."""
    shortest, longest = ended[0] - began[1], ended[1] - began[0]
    return value is not None and shortest - 0.1 <= value <= longest


def log_all(page: Page, holds: int) -> None:
    settle(page)
    page.get_by_role("button", name=f"Log {holds} holds").click()
    expect(page.locator("#hold")).to_be_hidden()
    all_sent(page)


@pytest.fixture
def hiding(
    browser: Browser, live_server: LiveServer, cast: Cast, tmp_path: Path
) -> Iterator[BrowserContext]:
    """A browser in which a page behind another one is really hidden: the driver's usual set-up
    keeps every page visible. Omar is signed in."""
    profile = tmp_path / "profile"
    flags = [*FLAGS, "--remote-debugging-port=0", f"--user-data-dir={profile}"]
    chromium = subprocess.Popen([CHROMIUM, *flags, "about:blank"], stderr=subprocess.DEVNULL)
    try:
        port = port_of(profile / "DevToolsActivePort")
        connected = browser.browser_type.connect_over_cdp(
            f"http://127.0.0.1:{port}", no_defaults=True
        )
        context = connected.contexts[0]
        context.add_init_script(WATCH)
        client = Client()
        client.force_login(cast.omar)
        key = client.cookies["sessionid"].value
        cookie = {"name": "sessionid", "value": key, "url": live_server.url, "httpOnly": True}
        whose = {"name": COOKIE, "value": str(cast.omar.uuid), "url": live_server.url}
        context.add_cookies([cookie, whose])
        yield context
        for page in context.pages:
            page.close()
        live_server.thread.httpd.get_app().wait_until_idle()
        connected.close()
    finally:
        chromium.terminate()
        chromium.wait(timeout=20)


def port_of(file: Path) -> str:
    end = time.monotonic() + 20
    while time.monotonic() < end:
        if file.exists() and file.read_text().count("\n"):
            return file.read_text().split()[0]
        time.sleep(0.1)
    pytest.fail("the browser did not open its port")


def test_two_minutes_with_the_tab_hidden_for_one_are_right_to_a_tenth(
    hiding: BrowserContext, live_server: LiveServer, thirty: Meeting
) -> None:
    page = hiding.new_page()
    page.set_viewport_size(TABLET)
    open_hold_clock_at(page, live_server, thirty)
    began = start(page)
    wait_for_clock(page, 20)
    early = stop(page, "Bettina")
    other = hiding.new_page()
    other.goto("about:blank")
    other.bring_to_front()
    page.wait_for_function("document.visibilityState === 'hidden'", polling=100)
    # By the page in front: the timers of a hidden one hardly run.
    let_pass(other, 60_000)
    assert page.evaluate("document.visibilityState") == "hidden"
    page.bring_to_front()
    page.wait_for_function("document.visibilityState === 'visible'", polling=100)
    # What is shown has caught up at once.
    page.evaluate(REDRAWN)
    looked = time.monotonic()
    shown = float(page.locator("#hold-time").inner_text())
    # Looking takes its time as well.
    assert looked - began[0] - 0.5 < shown < time.monotonic() - began[0] + 0.5
    wait_for_clock(page, 120.1)
    late = stop(page, "Cosima")
    rest = press(page, "#hold-head button", "Stop all")
    settle(page)
    assert page.locator(".hold-doubt").count() == 0
    log_all(page, 30)
    logged = values()
    assert len(logged) == 30
    assert agrees(logged["Bettina"], began, early), (logged["Bettina"], began, early)
    assert agrees(logged["Cosima"], began, late), (logged["Cosima"], began, late)
    assert agrees(logged["Zora"], began, rest), (logged["Zora"], began, rest)
    assert logged["Cosima"] is not None
    assert logged["Cosima"] >= 119.9


def open_hold_clock_at(page: Page, live_server: LiveServer, meeting: Meeting) -> None:
    """The same in a browser that knows no address to begin with."""
    page.goto(f"{live_server.url}/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 30 children").click()
    settle(page)
    choose(page, "#surface", "spring floor")
    choose(page, "#all-drills", HOLD)
    page.get_by_role("button", name="Hold clock").click()
    settle(page)


def test_thirty_children_are_logged_in_one_write_one_line_each_in_the_order_of_the_class(
    page: Page, context: BrowserContext, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    began = start(page)
    stops = {}
    for name in ("Zora", "Amaya", "Noor"):
        wait_for_clock(page, 0.3 * (len(stops) + 1))
        stops[name] = stop(page, name)
    expect(page.locator(".held[aria-pressed=true]")).to_have_count(3)
    ended = press(page, "#hold-head button", "Stop all")
    count_writes(page)
    log_all(page, 30)
    # The lines, and then their signatures.
    assert page.evaluate("window.writes") <= 2
    names = [attempt.child.called for attempt in sorted(attempts(), key=lambda one: one.id)]
    assert names == in_class_order(thirty)
    logged = values()
    for name, moment in stops.items():
        assert agrees(logged[name], began, moment)
    assert agrees(logged["Yuki"], began, ended)


def count_writes(page: Page) -> None:
    """How many transactions put turns on the disk from now on, each of them strict."""
    page.evaluate(
        """() => {
            window.writes = 0;
            const put = IDBObjectStore.prototype.put;
            const seen = new Set();
            IDBObjectStore.prototype.put = function (record) {
                if (this.name === "lines" && record.line?.kind !== undefined
                    && record.answer === null && !seen.has(this.transaction)) {
                    if (this.transaction.durability !== "strict") window.writes += 1000;
                    seen.add(this.transaction);
                    window.writes += 1;
                }
                return put.apply(this, arguments);
            };
        }"""
    )


def test_a_wrong_tap_is_taken_back_and_a_late_one_put_right(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    began = start(page)
    wait_for_clock(page, 0.7)
    stop(page, "Fenna")
    expect(page.locator(".held", has_text="Fenna")).to_contain_text(" s")
    settle(page)
    stop(page, "Fenna")
    expect(page.locator(".held", has_text="Fenna")).to_contain_text("holding")
    wait_for_clock(page, 1.4)
    gwen = stop(page, "Gwen")
    settle(page)
    fenna = stop(page, "Fenna")
    press(page, "#hold-head button", "Stop all")
    settle(page)
    page.locator(".held", has_text="Gwen").click()
    page.get_by_role("button", name="½ s less").click()
    page.locator(".held", has_text="Ulla").click()
    page.get_by_role("button", name="Leave out").click()
    settle(page)
    log_all(page, 29)
    logged = values()
    assert agrees(logged["Fenna"], began, fenna)
    assert logged["Gwen"] is not None
    assert agrees(round(logged["Gwen"] + 0.5, 1), began, gwen)
    assert "Ulla" not in logged


def test_who_does_not_hold_is_left_out_before_the_start(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    stop(page, "Hanneke")
    expect(page.locator(".held", has_text="Hanneke")).to_contain_text("left out")
    start(page)
    expect(page.locator(".held")).to_have_count(29)
    press(page, "#hold-head button", "Stop all")
    settle(page)
    log_all(page, 29)
    assert "Hanneke" not in values()


def test_a_clock_set_during_the_hold_makes_the_times_doubtful_and_they_are_asked_about(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    began = start(page)
    wait_for_clock(page, 0.5)
    sure = stop(page, "Amaya")
    page.evaluate("() => { const now = Date.now; Date.now = () => now() + 3_600_000; }")
    wait_for_clock(page, 1)
    doubtful = stop(page, "Bettina")
    page.evaluate("() => { const now = Date.now; Date.now = () => now() - 3_600_000; }")
    press(page, "#hold-head button", "Stop all")
    expect(page.locator(".hold-doubt")).to_contain_text("Bettina")
    expect(page.locator(".hold-doubt .rows li")).to_have_count(1)
    expect(page.locator(".held", has_text="Bettina")).to_contain_text("sure?")
    expect(page.get_by_role("button", name="Log 30 holds")).to_be_disabled()
    settle(page)
    page.locator(".hold-doubt").get_by_role("button", name="Keep", exact=True).click()
    log_all(page, 30)
    logged = values()
    assert agrees(logged["Amaya"], began, sure)
    # The monotonic clock was right all along.
    assert agrees(logged["Bettina"], began, doubtful)


def test_a_doubtful_time_that_is_left_out_is_not_stored(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    start(page)
    wait_for_clock(page, 0.3)
    stop(page, "Amaya")
    page.evaluate("() => { const now = Date.now; Date.now = () => now() + 3_600_000; }")
    press(page, "#hold-head button", "Stop all")
    settle(page)
    page.get_by_role("button", name="Leave out all 29").click()
    settle(page)
    page.get_by_role("button", name="Log 1 hold").click()
    page.evaluate("() => { const now = Date.now; Date.now = () => now() - 3_600_000; }")
    expect(page.locator("#hold")).to_be_hidden()
    all_sent(page)
    assert list(values()) == ["Amaya"]


def test_a_reload_during_the_run_goes_on_by_the_wall_clock_and_asks(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    began = start(page)
    wait_for_clock(page, 0.6)
    before = stop(page, "Amaya")
    idle(page)
    page.reload()
    expect(page.locator(".held", has_text="Amaya")).to_contain_text(" s")
    expect(page.locator(".held", has_text="Bettina")).to_contain_text("holding")
    wait_for_clock(page, 1)
    after = stop(page, "Bettina")
    press(page, "#hold-head button", "Stop all")
    expect(page.locator(".hold-doubt")).to_contain_text("loaded again")
    settle(page)
    page.get_by_role("button", name="Keep all 29").click()
    settle(page)
    log_all(page, 30)
    logged = values()
    assert agrees(logged["Amaya"], began, before)
    assert agrees(logged["Bettina"], began, after)
    # It is over: another reload does not bring it back.
    page.reload()
    expect(page.locator(".tile")).to_have_count(30)
    assert page.locator("#hold").is_hidden()


def test_a_run_that_is_thrown_away_leaves_nothing(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    start(page)
    page.get_by_role("button", name="Throw away").click()
    page.locator("#sheet").get_by_role("button", name="Go on").click()
    expect(page.locator("#hold-time")).to_be_visible()
    settle(page)
    page.get_by_role("button", name="Throw away").click()
    page.locator("#sheet").get_by_role("button", name="Throw away").click()
    expect(page.locator(".tile")).to_have_count(30)
    page.reload()
    expect(page.locator(".tile")).to_have_count(30)
    all_sent(page)
    assert attempts() == []


def test_one_child_can_be_timed_alone(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, HOLD)
    tile(page, "Mai").locator(".tile-main").click()
    page.locator("#sheet").get_by_role("button", name="Hold clock").click()
    expect(page.locator(".held")).to_have_count(1)
    settle(page)
    began = start(page)
    wait_for_clock(page, 0.5)
    ended = stop(page, "Mai")
    settle(page)
    page.get_by_role("button", name="Log 1 hold").click()
    all_sent(page)
    assert agrees(values()["Mai"], began, ended)


def test_all_thirty_are_in_reach_on_a_phone_while_the_clock_runs(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    signed_in(cast.omar)
    open_hold_clock(page, thirty)
    start(page)
    settle(page)
    boxes = [one.bounding_box() for one in page.locator(".held").all()]
    assert len(boxes) == 30
    for box in boxes:
        assert box is not None
        assert box["width"] >= 64
        assert box["height"] >= 64
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= 844


def test_repetitions_are_counted_by_tapping(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Bridge rocks")
    tile(page, "Mai").locator(".tile-main").tap()
    for _rep in range(6):
        page.locator(".plus").tap()
    page.get_by_role("button", name="−1").tap()
    # Closed by mistake: the count is still there.
    page.keyboard.press("Escape")
    settle(page)
    tile(page, "Mai").locator(".tile-main").tap()
    page.get_by_role("button", name="Keep, next: Maren").tap()
    settle(page)
    expect(page.locator("#sheet-title")).to_contain_text("Maren")
    page.get_by_role("button", name="Type the number").tap()
    settle(page)
    page.locator(".key", has_text=re.compile("^8$")).tap()
    page.get_by_role("button", name=re.compile("^Keep 8$")).tap()
    settle(page)
    page.locator("#faults").get_by_role("button", name="Done").tap()
    all_sent(page)
    assert values() == {"Mai": 5, "Maren": 8}


def test_a_whole_line_is_clean_but_for_those_who_are_tapped_and_one_undo_takes_it_back(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Hollow-arch log roll")
    page.get_by_role("button", name="All clean but").tap()
    settle(page)
    for name in ("Gwen", "Noor", "Ulla"):
        page.locator(".in-line", has_text=name).tap()
    settle(page)
    page.locator(".in-line", has_text="Ulla").tap()
    settle(page)
    count_writes(page)
    page.get_by_role("button", name="Log: clean 28, not clean 2").tap()
    all_sent(page)
    # The lines, and then their signatures.
    assert page.evaluate("window.writes") <= 2
    stored = sorted(attempts(), key=lambda one: one.id)
    assert [attempt.child.called for attempt in stored] == in_class_order(thirty)
    assert {one.child.called for one in stored if not one.clean} == {"Gwen", "Noor"}
    page.get_by_role("button", name="Undo · 30 turns at once").tap()
    expect(page.locator("#undo")).to_have_text("Nothing to undo")
    all_sent(page)
    assert Strike.objects.count() == 30
    assert len(attempts()) == 30


def test_who_may_not_do_the_drill_now_is_left_out_of_the_line_and_named(
    page: Page, signed_in: SignIn, cast: Cast, thirty: Meeting
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, "Kick to handstand")
    for name, place in (("Mai", "Head"), ("Noor", "Wrist")):
        page.locator("#hurt").tap()
        page.locator("#sheet").get_by_role("button", name=name, exact=True).tap()
        page.locator("#sheet").get_by_role("button", name=place).tap()
        settle(page)
        page.locator("#sheet-close").tap()
        settle(page)
    page.get_by_role("button", name="All clean but").tap()
    expect(page.locator(".left-out")).to_contain_text("Mai")
    expect(page.locator(".left-out")).to_contain_text("Noor")
    expect(page.locator(".in-line")).to_have_count(28)
    settle(page)
    page.get_by_role("button", name="Log: clean 28, not clean 0").tap()
    all_sent(page)
    logged = {attempt.child.called for attempt in attempts()}
    assert len(logged) == 28
    assert logged.isdisjoint({"Mai", "Noor"})


@pytest.mark.parametrize(
    ("drill", "words", "grade"),
    [
        ("The sit, hands held", "Knees ahead of the toes", 1),
        ("The sit, hands held", "without the hands the child would fall", 3),
        ("Bridge line", "Head on the floor", 0),
    ],
)
def test_a_grade_is_given_by_picking_its_drawing(
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    thirty: Meeting,
    drill: str,
    words: str,
    grade: int,
) -> None:
    signed_in(cast.omar)
    open_floor(page, thirty, drill)
    tile(page, "Mai").locator(".tile-main").tap()
    settle(page)
    expect(page.locator(".pose svg.figure")).to_have_count(5)
    page.locator(".pose", has_text=words).tap()
    settle(page)
    if grade < 3:
        page.locator("#faults").get_by_role("button", name="Done").tap()
    all_sent(page)
    assert values() == {"Mai": grade}


def test_a_line_is_quizzed_without_a_network_and_the_sixth_answer_logs_how_many_were_right(
    page: Page, context: BrowserContext, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    choose(page, "#all-drills", "Name the shape")
    page.reload()
    expect(page.locator(".tile")).to_have_count(2)
    context.set_offline(True)
    page.get_by_role("button", name="Quiz the line").click()
    quiz = page.locator(".quiz")
    expect(quiz.locator(".figure").first).to_be_visible()
    # Large enough for four metres: half of the tablet's height.
    box = quiz.locator(".quiz-figures").bounding_box()
    assert box is not None
    assert box["height"] > 820 * 0.45
    page.mouse.move(0, 0)
    for answer in range(12):
        name = ("Ilse", "Mai")[answer % 2]
        expect(page.locator("#quiz-title")).to_have_text(f"{name} · {answer // 2 + 1} of 6")
        # Ilse has all six right, Mai the first two.
        right = name == "Ilse" or answer < 4
        settle(page)
        quiz.get_by_role("button", name="Right" if right else "Wrong").click()
    expect(quiz).to_contain_text("Mai: 2 of 6, logged")
    page.get_by_role("button", name="Stop the quiz").click()
    context.set_offline(False)
    all_sent(page)
    assert values() == {"Ilse": 6, "Mai": 2}
