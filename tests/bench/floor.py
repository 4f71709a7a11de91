"""How soon a tap is seen, and how soon it is on the disk.

The floor page with 30 children, the processor slowed four times, against a bare page that
changes one text after one strict IndexedDB write. Taps go to both in turns, in one browser.
"""

import datetime
import os
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management import call_command
from django.test import Client
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, Route, sync_playwright

from readiness.record.ladder_loading import load
from studio.models import Attendance, Location, Meeting, Staff, Studio
from tests.bench.measure import Limit, Options, Result, spread
from tests.bench.site import server
from tests.support.cast import LADDER_FILE, make_child, make_class, make_staff, time_ordered_id

CHROMIUM = os.environ.get("LADDER_CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
SLOWED = 4
CHILDREN = 30
ROUNDS = 10
TAPS_A_ROUND = 15
WARM_UP = 5

MOST_RATIO = 1.4
MOST_PAINTED = 100.0
MOST_KEPT = 150.0

BARE = """<!doctype html><title>bare</title>
<button style="width:200px;height:100px">tap</button><p>0</p>
<script type="module">
const database = await new Promise((resolve, reject) => {
  const request = indexedDB.open("bare", 1);
  request.onupgradeneeded = () => request.result.createObjectStore("taps", {keyPath: "id"});
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});
let taps = 0;
document.querySelector("button").addEventListener("click", () => {
  taps += 1;
  const transaction = database.transaction("taps", "readwrite", {durability: "strict"});
  transaction.objectStore("taps").put({id: taps});
  transaction.oncomplete = () => { document.querySelector("p").textContent = String(taps); };
});
</script>"""

# For every click: the time from the event until the frame after the watched text has changed,
# and until the strict write that the click began was complete.
WATCH = """(watched) => {
  window.painted = [];
  window.kept = [];
  let began = null;
  addEventListener("click", (event) => { began = event.timeStamp; }, true);
  const plain = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (names, mode, options) {
    const made = plain.call(this, names, mode, options);
    const since = began;
    if (mode === "readwrite" && since !== null) {
      made.addEventListener("complete", () => {
        if (began === since && window.kept.at(-1)?.since !== since) {
          window.kept.push({since, ms: performance.now() - since});
        }
      });
    }
    return made;
  };
  new MutationObserver(() => {
    if (began === null) return;
    const since = began;
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => {
        if (window.painted.at(-1)?.since !== since) {
          window.painted.push({since, ms: performance.now() - since});
        }
      };
      channel.port2.postMessage(null);
    });
  }).observe(document.querySelector(watched), {
    subtree: true, childList: true, characterData: true,
  });
}"""


def run(_options: Options) -> Result:
    meeting, key = _studio()
    with server() as address, _browser() as context:
        context.add_cookies([{"name": "sessionid", "value": key, "url": address}])
        page = _floor_page(context, f"{address}/floor/{meeting}")
        bare = _bare_page(context, f"{address}/bare")
        for each in (page, bare):
            context.new_cdp_session(each).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        page.evaluate(WATCH, "#tiles")
        bare.evaluate(WATCH, "p")
        for _ in range(ROUNDS):
            _tap(page, ".tile-main")
            _tap(bare, "button")
        return _result(page, bare)


def _studio() -> tuple[str, str]:
    """A class of thirty and its coach; answers the meeting's id and the coach's session."""
    call_command("migrate", verbosity=0)
    early = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)
    load(tomllib.loads(LADDER_FILE.read_text()), now=early, from_day=early.date())
    Studio.objects.create(name="Bench")
    hall = Location.objects.create(name="Hall", zone="UTC")
    coach = make_staff("Omar", Staff.Role.COACH, hall)
    group = make_class("Blue", hall, coach)
    now = timezone.now()
    meeting = Meeting.objects.create(group=group, date=now.date(), starts_at=group.starts_at)
    for number in range(CHILDREN):
        child = make_child(f"Child{number:02} Test", group)
        Attendance.objects.create(
            id=time_ordered_id(now, number), meeting=meeting, child=child, present=True,
            at=now, by=coach, digest="",
        )  # fmt: skip
    client = Client()
    client.force_login(coach)
    return str(meeting.uuid), client.cookies["sessionid"].value


@contextmanager
def _browser() -> Iterator[BrowserContext]:
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium.new_context(viewport={"width": 1180, "height": 820}, has_touch=True)
        chromium.close()


def _floor_page(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address)
    page.locator("#surface").click()
    page.locator("#sheet-body button").nth(2).click()
    page.locator("#all-drills").click()
    page.locator("#sheet").get_by_role("button", name="Swing and jump tall").first.click()
    page.locator(".tile-main").first.wait_for()
    return page


def _bare_page(context: BrowserContext, address: str) -> Page:
    page = context.new_page()

    def answer(route: Route) -> None:
        route.fulfill(body=BARE, content_type="text/html")

    page.route("**/bare", answer)
    page.goto(address)
    page.wait_for_timeout(300)
    return page


def _tap(page: Page, selector: str) -> None:
    """One finger, at the pace of a class; each tap settles before the next."""
    page.bring_to_front()
    targets = page.locator(selector)
    number = targets.count()
    for at in range(TAPS_A_ROUND):
        targets.nth(at % number).click()
        page.wait_for_timeout(450)


def _result(page: Page, bare: Page) -> Result:
    def measured(of: Page, what: str) -> list[float]:
        return [each["ms"] for each in of.evaluate(f"window.{what}")][WARM_UP:]

    painted = spread("floor: tap to painted", measured(page, "painted"))
    floor = spread("bare page: tap to painted", measured(bare, "painted"))
    kept = spread("floor: tap to kept on disk", measured(page, "kept"))
    return Result(
        "floor",
        {"children": CHILDREN, "taps": ROUNDS * TAPS_A_ROUND, "processor slowed": f"{SLOWED}x"},
        [painted, floor, kept],
        [
            Limit("painted, 95 %, against the bare page", painted.p95 / floor.p95, MOST_RATIO),
            Limit("painted, 95 %, ms", painted.p95, MOST_PAINTED),
            Limit("kept on disk, 95 %, ms", kept.p95, MOST_KEPT),
        ],
    )
