"""Angles from the side, with Chromium's own fake camera: without a network, with nothing stored or
sent of the picture, and none of it left after a minute, once the page is hidden, or on leaving.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from progression.models import Attempt
from readiness.models import AttemptAngles
from studio.models import Meeting, PictureConsent
from studio.people.consents import NewAnswer, store_answers
from studio.pictures.allowed import turn
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.browser.barriers import barriers
from tests.support.browser.camera import film
from tests.support.browser.chromium import CHROMIUM, FLAGS
from tests.support.browser.floor_taps import all_sent, choose, open_class, tile
from tests.support.browser.people import open_browser, sign_in_without_form
from tests.support.cast import Cast
from tests.support.engine.figures import FIGURES, Figure, picture

SIT = {"shin_lean": 3.0, "knee": 115.0, "trunk_lean": 18.0}
LINES = [("toe", "heel"), ("ankle", "knee"), ("knee", "hip"), ("hip", "shoulder")]

# Every frame that the page makes, and every track of its camera, for the test to look at.
WATCH_PICTURES = """(() => {
    const make = globalThis.createImageBitmap;
    globalThis.made = [];
    globalThis.createImageBitmap = async (...from) => {
        const frame = await make(...from);
        made.push(frame);
        return frame;
    };
    const open = MediaDevices.prototype.getUserMedia;
    globalThis.tracks = [];
    MediaDevices.prototype.getUserMedia = async function (...about) {
        const stream = await open.apply(this, about);
        tracks.push(...stream.getTracks());
        return stream;
    };
})()"""
# A frame that was closed is 0 wide (HTML standard, ImageBitmap.close).
LEFT = """() => ({
    frames: made.filter((frame) => frame.width > 0).length,
    filming: tracks.filter((track) => track.readyState === "live").length,
    drawn: [...document.querySelectorAll("canvas")].filter((one) => one.width > 0).length,
})"""
NOTHING = {"frames": 0, "filming": 0, "drawn": 0}
# Whatever could hold pixels, in anything that a page can store in; and how many files are kept.
STORED = """async () => {
    const pixels = (value) => value instanceof Blob || value instanceof ArrayBuffer
        || ArrayBuffer.isView(value) || value instanceof ImageBitmap || value instanceof ImageData
        || (typeof value === "string" && value.length > 4000)
        || (Array.isArray(value) ? value.length > 200 || value.some(pixels)
            : value !== null && typeof value === "object" && !(value instanceof CryptoKey)
                && Object.values(value).some(pixels));
    const result = (asked) => new Promise((done) => (asked.onsuccess = () => done(asked.result)));
    const found = [];
    for (const { name } of await indexedDB.databases()) {
        const box = await result(indexedDB.open(name));
        for (const store of box.objectStoreNames) {
            if (store === "packs") continue;
            const all = await result(box.transaction(store).objectStore(store).getAll());
            found.push(...all.filter(pixels).map(() => store));
        }
        box.close();
    }
    let files = 0;
    for (const name of await caches.keys()) {
        files += (await (await caches.open(name)).keys()).length;
    }
    const disk = await navigator.storage.getDirectory();
    for await (const _ of disk.keys()) found.push("disk");
    return { found, files, local: localStorage.length + sessionStorage.length };
}"""


@pytest.fixture
def posed() -> tuple[Figure, Any]:
    return picture(FIGURES["sit"](**SIT), scale=6, at=(560, 640), tilt=2)


@pytest.fixture
def tablet(
    browser: Browser,
    live_server: LiveServer,
    cast: Cast,
    tmp_path: Path,
    posed: tuple[Figure, Any],
) -> Iterator[BrowserContext]:
    """An enrolled tablet with a camera in front of which a figure sits; pictures are on in the
    hall, and of the two children only Mai's family has said yes."""
    file = film(tmp_path / "sit.y4m", posed[0], LINES)
    flags = [
        *FLAGS,
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={file}",
    ]
    now = timezone.now()
    turn(cast.hall, True, cast.petra, now)
    yes = [NewAnswer(cast.mai, "", yes=True)]
    store_answers(PictureConsent, yes, "Omar", cast.hall.day_of(now), cast.omar, now)
    _tablet, secret = enrol("Blue case", cast.hall, cast.petra, now)
    chromium = browser.browser_type.launch(executable_path=CHROMIUM, args=flags)
    context = open_browser(chromium, live_server.url)
    cookie = {"name": COOKIE, "value": secret, "url": live_server.url, "httpOnly": True}
    context.add_cookies([cookie])  # type: ignore[list-item]
    context.add_init_script(WATCH_PICTURES)
    sign_in_without_form(context, live_server.url, cast.omar)
    yield context
    context.close()
    chromium.close()
    live_server.thread.httpd.get_app().wait_until_idle()


def open_sheet(page: Page, name: str) -> None:
    tile(page, name).locator(".tile-main").click()
    expect(page.locator("#sheet")).to_be_visible()


def film_turn(page: Page) -> None:
    """From the sheet of grades to the frame that was picked."""
    page.get_by_role("button", name="From the side").click()
    view = page.locator(".side-view")
    expect(view).to_contain_text("A screenshot cannot be prevented")
    camera = view.get_by_role("button", name="Open the camera")
    view.get_by_role("button", name="Mai says yes, now").click()
    expect(camera).to_be_disabled()
    view.get_by_role("button", name="A second adult is here").click()
    camera.click()
    page.wait_for_function("() => made.length > 4 && made.at(-1).width > 0")
    view.get_by_role("button", name="Stop").click()


def tap_joints(page: Page, joints: Figure, floor: tuple[Any, Any]) -> None:
    marks = page.locator(".side-marks")
    expect(marks).to_be_visible()
    box = marks.bounding_box()
    assert box is not None
    scale = box["width"] / 960
    order = ("heel", "toe", "ankle", "knee", "hip", "shoulder")
    for x, y in [*floor, *(joints[name] for name in order)]:
        page.mouse.click(box["x"] + x * scale, box["y"] + y * scale)


def test_a_sit_is_filmed_tapped_and_read_without_a_network_and_no_pixel_is_kept_or_sent(
    tablet: BrowserContext, cast: Cast, meeting: Meeting, posed: tuple[Figure, Any]
) -> None:
    page = tablet.new_page()
    open_class(page, meeting)
    choose(page, "#all-drills", "The sit, hands held")
    open_sheet(page, "Ilse")
    expect(page.get_by_role("button", name="From the side")).to_have_count(0)
    page.locator("#sheet-close").click()
    # From the second opening on the page is the one that the tablet keeps.
    page.reload()
    expect(tile(page, "Mai")).to_be_visible()
    before = page.evaluate(STORED)
    sent: list[tuple[str, str | None]] = []
    tablet.set_offline(True)
    open_sheet(page, "Mai")
    film_turn(page)
    page.get_by_role("button", name="This one").click()
    tap_joints(page, *posed)
    assert barriers(page) == []
    page.get_by_role("button", name="Read the angles").click()
    view = page.locator(".side-view")
    expect(view.get_by_role("button", name="Keep grade 3")).to_be_visible()
    expect(view).to_contain_text("The angles say grade 3, sure")
    expect(view.locator(".figure")).to_have_count(2)
    assert page.evaluate(LEFT) == NOTHING
    assert barriers(page) == []
    page.on("request", lambda request: sent.append((request.url, request.post_data)))
    view.get_by_role("button", name="I give 2").click()
    expect(view).to_have_count(0)
    expect(page.locator("#kept")).to_contain_text("1")
    assert page.evaluate(STORED) == before | {"found": []}
    tablet.set_offline(False)
    all_sent(page)
    turned = Attempt.objects.get()
    kept = AttemptAngles.objects.get(attempt=turned)
    assert (turned.child, turned.value, kept.suggests) == (cast.mai, 2, 3)
    for name, true in SIT.items():
        read, error = kept.angles[name]
        assert abs(read - true) < min(2, error), name
    assert all(len(body or "") < 20_000 for _, body in sent)
    lines = [line for _, body in sent if body for line in json.loads(body).get("lines", [])]
    assert [set(line["side"]) for line in lines if "side" in line] == [
        {"kind", "angles", "joints", "spread", "twice", "suggests", "chances"}
    ]


def test_the_picture_is_gone_after_a_minute_when_the_page_is_hidden_and_on_leaving(
    tablet: BrowserContext, meeting: Meeting
) -> None:
    page = tablet.new_page()
    page.clock.install()
    open_class(page, meeting)
    choose(page, "#all-drills", "The sit, hands held")
    view = page.locator(".side-view")

    def begin() -> None:
        open_sheet(page, "Mai")
        film_turn(page)
        assert page.evaluate(LEFT)["frames"] > 0

    begin()
    page.get_by_role("button", name="This one").click()
    assert page.evaluate(LEFT) == {"frames": 1, "filming": 0, "drawn": 1}
    page.clock.fast_forward(55_000)
    assert page.evaluate(LEFT)["frames"] == 1
    page.clock.fast_forward(6_000)
    expect(view).to_contain_text("The picture is gone")
    assert page.evaluate(LEFT) == NOTHING
    view.get_by_role("button", name="Close, forget the picture").click()

    begin()
    page.keyboard.press("Escape")
    expect(view).to_have_count(0)
    assert page.evaluate(LEFT) == NOTHING

    begin()
    page.evaluate(
        """() => {
            Object.defineProperty(document, "hidden", { get: () => true, configurable: true });
            document.dispatchEvent(new Event("visibilitychange"));
        }"""
    )
    expect(view).to_contain_text("The picture is gone")
    assert page.evaluate(LEFT) == NOTHING


def test_in_nine_of_ten_pictures_the_interval_holds_the_true_angle(page: Page) -> None:
    """Random poses, a camera up to 15° out of side-on and held askew, taps that scatter."""
    draw = np.random.default_rng(20261130)
    sits = []
    for _ in range(100):
        pose = {
            "shin_lean": draw.uniform(-8, 25),
            "knee": draw.uniform(75, 160),
            "trunk_lean": draw.uniform(0, 40),
            "heel_lift": draw.uniform(0, 20),
        }
        about = {"yaw": draw.uniform(-15, 15), "tilt": draw.uniform(-8, 8)}
        joints, floor = picture(FIGURES["sit"](**pose), scale=draw.uniform(4, 8), **about)
        tapped = {name: (point + draw.normal(0, 4, 2)).tolist() for name, point in joints.items()}
        level = [(np.array(point) + draw.normal(0, 4, 2)).tolist() for point in floor]
        sits.append({"pose": pose, "joints": tapped, "floor": level})
    page.goto("/floor/")
    held = page.evaluate(
        """async (sits) => {
            const { readPicture } = await import("/static/floor/eyes/reading.js");
            const held = { shin_lean: 0, knee: 0, trunk_lean: 0, heel_lift: 0 };
            for (const { pose, joints, floor } of sits) {
                const spread = Object.fromEntries(Object.keys(joints).map((name) => [name, 4]));
                const about = { kind: "sit", joints, floor, travels: "left" };
                const taps = { spread: { joints: spread, floor: 4 }, regions: [{ grade: 2 }] };
                const { angles } = readPicture({ ...about, ...taps });
                for (const [name, true_] of Object.entries(pose)) {
                    if (Math.abs(angles[name].value - true_) <= angles[name].error) held[name] += 1;
                }
            }
            return held;
        }""",
        sits,
    )
    assert all(count >= 90 for count in held.values()), held
