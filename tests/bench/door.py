"""Strangers at the sign-in while a class goes on, on the real server.

Twelve loops guess at passwords, of names that there are and that there are not, as fast as they are
answered; two tablets send turns meanwhile. Both ends run on this machine.
"""

import http.client
import os
import re
import threading
import time
from collections import Counter
from urllib.parse import urlencode, urlsplit

from django.utils import timezone

from studio.models import Meeting, Staff
from tests.bench.crowd import Seat, session_of
from tests.bench.kept import new
from tests.bench.measure import Limit, Options, Result, spread
from tests.bench.record import Shape
from tests.bench.site import THREADS, WORKERS, server

TABLETS, STRANGERS, SECONDS = 2, 12, 20
PEOPLE = Shape(children=TABLETS * 20, days=20, a_day=5, every=3)
# In milliseconds, for every single call.
MOST_WAIT = 300.0


class Stranger:
    """One loop of guesses, each with a connection of its own."""

    def __init__(self, address: str, names: list[str]) -> None:
        self.to, self.names = urlsplit(address), names
        self.answers: Counter[int] = Counter()

    def guess_until(self, ends: float) -> None:
        token = self._token()
        while time.monotonic() < ends:
            name = self.names[self.answers.total() % len(self.names)]
            form = {"csrfmiddlewaretoken": token, "username": name, "password": "a wrong guess"}
            headers = {
                "Cookie": f"csrftoken={token}",
                "Content-Type": "application/x-www-form-urlencoded",
            }
            self.answers[self._ask("POST", urlencode(form), headers)[0]] += 1

    def _token(self) -> str:
        found = re.search(r"csrftoken=(\w+)", self._ask("GET", None, {})[1])
        assert found
        return found[1]

    def _ask(self, method: str, body: str | None, headers: dict[str, str]) -> tuple[int, str]:
        link = http.client.HTTPConnection(self.to.hostname or "", self.to.port, timeout=60)
        try:
            link.request(method, "/sign-in", body, headers)
            answer = link.getresponse()
            answer.read()
            return answer.status, answer.headers.get("Set-Cookie") or ""
        finally:
            link.close()


def run(_options: Options) -> Result:
    with new("door", PEOPLE, timezone.now()) as copy, copy.used():
        names = [*Staff.objects.values_list("username", flat=True)[:4], "nobody"]
        meetings = list(Meeting.objects.filter(date=timezone.now().date()).order_by("pk"))
        os.environ["DATABASE_URL"] = copy.url
        with server() as address:
            quiet, _ = _class_goes_on(address, meetings, [])
            strangers = [Stranger(address, names) for _ in range(STRANGERS)]
            calls, errors = _class_goes_on(address, meetings, strangers)
    answers = sum((each.answers for each in strangers), Counter[int]())
    about = {
        "tablets, strangers, seconds": (TABLETS, STRANGERS, SECONDS),
        "server": f"gunicorn, {WORKERS} workers of {THREADS} threads",
        "record": PEOPLE.told(),
        "answers to guesses": dict(answers),
        "errors": dict(errors) or "none",
    }
    return Result(
        "door",
        about,
        [spread("a call, nobody at the door", quiet), spread("a call, strangers there", calls)],
        [
            Limit("errors", errors.total(), 0),
            Limit("the longest call with strangers there, ms", max(calls), MOST_WAIT),
        ],
    )


def _class_goes_on(
    address: str, meetings: list[Meeting], strangers: list[Stranger]
) -> tuple[list[float], Counter[str]]:
    """How long each call took, and what went wrong."""
    seats = [Seat(n, meeting, session_of(meeting), address) for n, meeting in enumerate(meetings)]
    for seat in seats:
        seat.begin()
    ends = time.monotonic() + SECONDS
    works = [seat.send_until for seat in seats] + [each.guess_until for each in strangers]
    threads = [threading.Thread(target=work, args=(ends,)) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    errors = sum((seat.errors for seat in seats), Counter[str]())
    return [took for seat in seats for took in seat.calls], errors
