"""Forty tablets for a minute, each at a class of its own, on the real server.

Each sends one to five turns every two seconds or so and fetches its pack as the floor page does:
after an answer once nobody taps, and every ten seconds at the latest. Every three seconds it asks
whether something has come that it must show at once. Both ends run on this machine.
"""

import datetime
import gzip
import http.client
import json
import os
import random
import threading
import time
from collections import Counter
from typing import Any
from urllib.parse import urlsplit

from django.test import Client
from django.utils import timezone

from progression.models import Attempt, LadderVersion
from studio.models import Child, Meeting
from tests.bench.counting import counted
from tests.bench.kept import Copy, new
from tests.bench.measure import Limit, Options, Result, percentile, spread
from tests.bench.record import Shape, trained
from tests.bench.site import THREADS, WORKERS, server
from tests.bench.tablet import DEVICE, Tablet

TABLETS = 40
SECONDS = 60
PEOPLE = Shape(children=TABLETS * 20, days=20, a_day=5, every=3)
MOST_TURNS = 5
BETWEEN_CALLS = (1.0, 3.0)
# As static/floor/main.js has it, in seconds.
SETTLE = 0.6
BETWEEN_PACKS = 2.5
TIMES_AS_LONG = 5
TOO_BUSY = 1.0
QUIET = 1.5
LONGEST_WITHOUT = 10.0
LOOK_AGAIN = 60.0
# As static/floor/sending/alerts.js has it.
BETWEEN_QUESTIONS = 3.0
# As static/floor/sending/sender.js waits for an answer.
PATIENCE = 20.0

MOST_P99 = 1000.0
QUESTIONS = 200
MOST_PROCESSOR, MOST_QUERIES = 2.0, 2


class Seat:
    """One tablet in the hands of one coach: three threads, as a browser sends, fetches, asks."""

    def __init__(self, number: int, meeting: Meeting, key: str, address: str) -> None:
        coach = meeting.group.staff.get()
        self.tablet = Tablet(number + 1, str(coach.uuid), str(meeting.uuid))
        self.meeting, self.address, self.key = meeting, address, key
        content = LadderVersion.objects.get().content
        children: list[Child] = list(meeting.group.children.order_by("pk"))
        self.children = [
            (str(child.uuid), trained(content, 1 + nth % 7)) for nth, child in enumerate(children)
        ]
        self.chance = random.Random(number)
        self.csrf = ""
        self.kept = self.sent = 0
        self.calls: list[float] = []
        self.packs: list[float] = []
        self.questions: list[float] = []
        self.alerts = self.busy = 0
        self.pack_bytes = 0
        self.errors: Counter[str] = Counter()
        self.asked = self.tapped = self.took = 0.0
        self.look_now = threading.Event()

    def begin(self) -> None:
        """The pack and the cookie, as when the page is opened."""
        answer = self._ask("GET", f"pack?device={DEVICE}")
        assert answer is not None, self.errors
        self.alerts = json.loads(gzip.decompress(answer))["alerts"]
        self.packs.clear()

    def send_until(self, ends: float) -> None:
        time.sleep(self.chance.uniform(0, BETWEEN_CALLS[1]))
        while time.monotonic() < ends:
            began = time.monotonic()
            self._send()
            with_pause = began + self.chance.uniform(*BETWEEN_CALLS)
            time.sleep(max(0.0, with_pause - time.monotonic()))

    def fetch_until(self, ends: float) -> None:
        self.asked = time.monotonic()
        while (left := ends - time.monotonic()) > 0:
            if self.look_now.wait(min(left, LOOK_AGAIN)):
                self._wait_for_quiet(ends)
                self.look_now.clear()
            if time.monotonic() < ends:
                self.asked = time.monotonic()
                before = self.busy
                self._ask("GET", f"pack?device={DEVICE}")
                self.took = time.monotonic() - self.asked
                if self.busy > before:
                    self.took = max(self.took, TOO_BUSY)
                    self.look_now.set()

    def ask_until(self, ends: float) -> None:
        time.sleep(self.chance.uniform(0, BETWEEN_QUESTIONS))
        while time.monotonic() < ends:
            answer = self._ask("GET", f"since?n={self.alerts}")
            if answer:
                self.alerts = json.loads(answer)["n"]
                self.look_now.set()
            time.sleep(BETWEEN_QUESTIONS)

    def _wait_for_quiet(self, ends: float) -> None:
        latest = min(ends, time.monotonic() + LONGEST_WITHOUT)
        between = max(BETWEEN_PACKS, min(LONGEST_WITHOUT, TIMES_AS_LONG * self.took))
        time.sleep(max(SETTLE, self.asked + between - time.monotonic()))
        while (left := min(self.tapped + QUIET, latest) - time.monotonic()) > 0:
            time.sleep(left)

    def _send(self) -> None:
        self.tapped = time.monotonic()
        now = datetime.datetime.now(datetime.UTC)
        lines = [self._turn(now) for _ in range(self.chance.randint(1, MOST_TURNS))]
        self.sent += len(lines)
        answer = self._ask("POST", "attempts", json.dumps(self.tablet.call(now, lines)))
        if answer is not None:
            kept = self.tablet.heard(json.loads(answer))
            self.kept += kept
            if kept < len(lines):
                self.errors["lines not kept"] += len(lines) - kept
            self.look_now.set()

    def _turn(self, now: datetime.datetime) -> dict[str, Any]:
        child, drills = self.chance.choice(self.children)
        drill = self.chance.choice(drills)
        clean = {"clean": self.chance.random() < 0.8}
        return self.tablet.turn(
            now, child, drill["key"], clean if drill["measure"] == "clean" else {"value": 2}
        )

    def _ask(self, method: str, what: str, body: str | None = None) -> bytes | None:
        """The body of an answer; None, and an error noted, if it was neither 200 nor 204."""
        began = time.perf_counter()
        try:
            status, found, cookie = self._call(method, what, body)
        except OSError as error:
            self.errors[type(error).__name__] += 1
            return None
        took = (time.perf_counter() - began) * 1000
        kind = what.partition("?")[0]
        if kind == "pack" and status == 503:
            self.busy += 1
            return None
        {"attempts": self.calls, "pack": self.packs, "since": self.questions}[kind].append(took)
        if status not in (200, 204):
            self.errors[f"{method} {status}"] += 1
            return None
        self.csrf = cookie or self.csrf
        if kind == "pack":
            self.pack_bytes = len(found)
        return found

    def _call(self, method: str, what: str, body: str | None) -> tuple[int, bytes, str]:
        to = urlsplit(self.address)
        link = http.client.HTTPConnection(to.hostname or "", to.port, timeout=PATIENCE)
        try:
            link.request(
                method, f"/floor/{self.meeting.uuid}/{what}", body,
                {
                    "Cookie": f"sessionid={self.key}; csrftoken={self.csrf}",
                    "X-CSRFToken": self.csrf,
                    "Content-Type": "application/json",
                    "Accept": "application/json",
                    "Accept-Encoding": "gzip" if what.startswith("pack") else "identity",
                },
            )  # fmt: skip
            answer = link.getresponse()
            cookies = answer.headers.get_all("Set-Cookie") or []
            named = [c.split(";")[0].partition("=") for c in cookies]
            token = next((value for name, _, value in named if name == "csrftoken"), "")
            return answer.status, answer.read(), token
        finally:
            link.close()


def run(_options: Options) -> Result:
    with new("crowd", PEOPLE, timezone.now()) as copy, copy.used():
        before = Attempt.objects.count()
        cost = _of_a_question()
        seats = _on_the_floor(copy)
        stored = Attempt.objects.count() - before
    return _result(seats, stored, *cost)


def _of_a_question() -> tuple[float, int]:
    """What a question costs the server, without what carries it: processor ms, and queries."""
    meeting = Meeting.objects.filter(date=timezone.now().date()).order_by("pk")[0]
    client = Client()
    client.force_login(meeting.group.staff.get())
    address = f"/floor/{meeting.uuid}/since?n={meeting.alerts}"
    client.get(address)
    with counted() as found:
        assert client.get(address).status_code == 204
    began = time.process_time()
    for _ in range(QUESTIONS):
        client.get(address)
    return (time.process_time() - began) * 1000 / QUESTIONS, found.queries


def _on_the_floor(copy: Copy) -> list[Seat]:
    meetings = list(Meeting.objects.filter(date=timezone.now().date()).order_by("pk"))
    assert len(meetings) == TABLETS
    os.environ["DATABASE_URL"] = copy.url
    with server() as address:
        seats = [
            Seat(number, meeting, session_of(meeting), address)
            for number, meeting in enumerate(meetings)
        ]
        for seat in seats:
            seat.begin()
        ends = time.monotonic() + SECONDS
        threads = [
            threading.Thread(target=work, args=(ends,))
            for seat in seats
            for work in (seat.send_until, seat.fetch_until, seat.ask_until)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return seats


def session_of(meeting: Meeting) -> str:
    client = Client()
    client.force_login(meeting.group.staff.get())
    return client.cookies["sessionid"].value


def _result(seats: list[Seat], stored: int, processor: float, queries: int) -> Result:
    calls = [took for seat in seats for took in seat.calls]
    packs = [took for seat in seats for took in seat.packs]
    questions = [took for seat in seats for took in seat.questions]
    errors = sum((seat.errors for seat in seats), Counter())
    kept, sent = sum(seat.kept for seat in seats), sum(seat.sent for seat in seats)
    about = {
        "tablets": TABLETS,
        "seconds": SECONDS,
        "server": f"gunicorn, {WORKERS} workers of {THREADS} threads",
        "record": PEOPLE.told(),
        "lines sent": sent,
        "lines answered kept": kept,
        "rows stored": stored,
        "questions of what is new": len(questions),
        "packs made": len(packs),
        "packs asked for when too many were made": sum(seat.busy for seat in seats),
        "errors": dict(errors) or "none",
        "bytes of a pack": seats[0].pack_bytes,
        "packs, 99 %, ms": round(percentile(packs, 99)),
    }
    return Result(
        "crowd",
        about,
        [
            spread("a call with lines", calls),
            spread("a pack", packs),
            spread("a question of what is new", questions),
        ],
        [
            Limit("errors", sum(errors.values()), 0),
            Limit("lines answered kept and rows stored differ by", abs(kept - stored), 0),
            Limit("a call with lines, 99 %, ms", percentile(calls, 99), MOST_P99),
            Limit("processor of a question, ms", processor, MOST_PROCESSOR),
            Limit("queries of a question", queries, MOST_QUERIES),
        ],
    )
