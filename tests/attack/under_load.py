"""Tablets that send turns without pause to a server that may die at any moment."""

import datetime
import http.client
import json
import random
import threading
import time
import tomllib
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import setup_databases, teardown_databases

from progression.log import guards
from progression.models import Attempt
from readiness.models import DayTally
from readiness.record.rebuild import rebuild
from studio.models import Child, Meeting, Staff
from studio.people.meetings import meeting_on
from tests.attack.site import asked
from tests.support.backups import close
from tests.support.browser.killable import Killable
from tests.support.cast import LADDER_FILE, Cast, load_shipped, make_cast, time_ordered_id

TOKEN = "a" * 32
BATCH = 5


@contextmanager
def record_of_today() -> Iterator[Cast]:
    """The cast in a database of its own, by the clock of the machine."""
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        load_shipped(tomllib.loads(LADDER_FILE.read_text(encoding="utf-8")))
        yield make_cast()
    finally:
        guards.remove(connection)
        close()
        teardown_databases(databases, verbosity=0)


@contextmanager
def server(**environment: str) -> Iterator[Killable]:
    with TemporaryDirectory() as folder:
        made = Killable(Path(folder))
        made.environment = environment
        made.start()
        try:
            yield made
        finally:
            made.stop()


class Tablet:
    """Sends batches of new turns; a batch without an answer is sent again, as it was."""

    def __init__(self, cast: Cast, child: Child, number: int) -> None:
        self.meeting: Meeting = meeting_on(cast.blue, cast.hall.day_of(_now()))
        self.child, self.number = str(child.uuid), number
        self.session = session_of(cast.omar)
        # Every turn that was acknowledged, by its id.
        self.acknowledged: dict[uuid.UUID, dict[str, Any]] = {}
        self.odd: list[str] = []
        self.waiting: list[dict[str, Any]] = []
        self._made = 0

    def step(self, port: int) -> int:
        """One call; its status, or 0 if no answer came."""
        self.waiting = self.waiting or [self._turn() for _each in range(BATCH)]
        body = {"v": 2, "device": f"t{self.number}", "sent_at": _now().isoformat()}
        try:
            status, answer = self._post(port, body | {"lines": self.waiting})
        except (OSError, http.client.HTTPException, ValueError):
            return 0
        if status == 200:
            for line, sent in zip(answer["lines"], self.waiting, strict=True):
                if line["answer"] not in ("kept", "had"):
                    self.odd.append(f"a turn was answered {line['answer']} {line['code']}")
                self.acknowledged[uuid.UUID(line["id"])] = sent
            self.waiting = []
        return status

    def _post(self, port: int, body: dict[str, Any]) -> tuple[int, Any]:
        asked["requests"] += 1
        call = http.client.HTTPConnection("localhost", port, timeout=30)
        headers = {
            "Content-Type": "application/json",
            "Accept": "application/json",
            "Cookie": f"sessionid={self.session}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
        }
        try:
            address = f"/floor/{self.meeting.uuid}/attempts"
            call.request("POST", address, json.dumps(body), headers)
            answer = call.getresponse()
            content = answer.read()
            return answer.status, json.loads(content) if answer.status == 200 else None
        finally:
            call.close()

    def _turn(self) -> dict[str, Any]:
        self._made += 1
        now = _now()
        return {
            "kind": "turn",
            "id": str(time_ordered_id(now, self.number * 100_000 + self._made)),
            "at": now.isoformat(),
            "child": self.child,
            "drill": "log-roll",
            "surface": "sprung-dance-floor",
            "support": 0,
            "clean": True,
        }


def session_of(staff: Staff) -> str:
    client = Client()
    client.force_login(staff)
    return client.cookies["sessionid"].value


def tablets(cast: Cast) -> list[Tablet]:
    return [Tablet(cast, child, n) for n, child in enumerate([cast.mai, cast.ilse, cast.mai])]


@contextmanager
def sending(port: int, sent_by: list[Tablet]) -> Iterator[None]:
    """Meanwhile all of them send."""
    stop = threading.Event()

    def send(tablet: Tablet) -> None:
        while not stop.is_set():
            if tablet.step(port) != 200:
                time.sleep(random.uniform(0.02, 0.1))

    threads = [threading.Thread(target=send, args=[tablet]) for tablet in sent_by]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        stop.set()
        for thread in threads:
            thread.join()


def wait_for_more(sent_by: list[Tablet]) -> None:
    """Until some more turns are acknowledged, or for a minute."""
    before = sum(len(tablet.acknowledged) for tablet in sent_by)
    end = time.monotonic() + 60
    while time.monotonic() < end:
        if sum(len(tablet.acknowledged) for tablet in sent_by) > before + 50:
            return
        time.sleep(0.1)


def finish(port: int, sent_by: list[Tablet]) -> list[str]:
    """Send what still waits; what of it is not in the record once."""
    for tablet in sent_by:
        for _try in range(20):
            if not tablet.waiting or tablet.step(port) == 200:
                break
            time.sleep(0.2)
    return wrong(sent_by)


def wrong(sent_by: list[Tablet]) -> list[str]:
    acknowledged = {id_ for tablet in sent_by for id_ in tablet.acknowledged}
    stored = set(Attempt.objects.values_list("pk", flat=True))
    tallied = sum(DayTally.objects.values_list("turns", flat=True))
    found = [each for tablet in sent_by for each in tablet.odd]
    if lost := acknowledged - stored:
        found.append(f"{len(lost)} of {len(acknowledged)} acknowledged turns are lost")
    if tallied != len(stored):
        found.append(f"{len(stored)} turns are tallied as {tallied}")
    if unknown := [tablet.number for tablet in sent_by if tablet.waiting]:
        found.append(f"tablets {unknown} could not send all that waited")
    differences = rebuild(Child.objects.order_by("pk"), check=True)
    return found + [f"not as the log says: {each.what}" for each in differences]


def _now() -> datetime.datetime:
    return datetime.datetime.now(datetime.UTC)
