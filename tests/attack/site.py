"""The site that is attacked: the tests' cast in a database of its own, and a way to ask it."""

import logging
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import time_machine
from django.db import connection, transaction
from django.test import Client
from django.test.utils import setup_databases, teardown_databases

from progression.log import guards
from studio.models import Staff
from tests.support.access import counts
from tests.support.cast import LADDER_FILE, Cast, Logged, load_shipped, make_cast
from tests.support.every_page import EVENING, Site, build

# Whatever stands here was asked since the process began.
asked = {"requests": 0}


@contextmanager
def attacked_site() -> Iterator[Site]:
    """The site during the blue class's meeting; gone afterwards."""
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        with time_machine.travel(EVENING, tick=False):
            load_shipped(tomllib.loads(LADDER_FILE.read_text(encoding="utf-8")))
            cast = make_cast()
            yield build(cast, Logged(cast))
    finally:
        guards.remove(connection)
        teardown_databases(databases, verbosity=0)


def people(cast: Cast) -> dict[str, Staff | None]:
    """One of every role, and nobody."""
    return {
        "assistant": cast.tam,
        "coach": cast.omar,
        "other coach": cast.ines,
        "director": cast.petra,
        "director elsewhere": cast.dora,
        "nobody": None,
    }


@dataclass(frozen=True)
class Sent:
    """A request. ``data`` is a form's fields, or the body as it is."""

    method: str
    address: str
    data: Mapping[str, Any] | bytes = field(default_factory=dict)
    content_type: str = ""
    headers: Mapping[str, str] = field(default_factory=dict)
    cookies: Mapping[str, str] = field(default_factory=dict)

    def told(self) -> str:
        kind = f" {self.content_type}" if self.content_type else ""
        return f"{self.method} {self.address!r}{kind} {self.data!r} {dict(self.headers)!r} " + (
            f"{dict(self.cookies)!r}" if self.cookies else ""
        )


@dataclass(frozen=True)
class Answer:
    """What came of a request; ``changed``: it stored something or took something away."""

    status: int
    changed: bool
    content: bytes
    broke: str


class Browser:
    """Somebody's browser, signed in or not. Whatever it changes is taken back at once."""

    def __init__(self, staff: Staff | None) -> None:
        client = Client()
        if staff is not None:
            client.force_login(staff)
        self.kept = {name: morsel.value for name, morsel in client.cookies.items()}

    def ask(self, sent: Sent, compare: bool = False) -> Answer:
        """``compare``: count the rows before and after."""
        asked["requests"] += 1
        client = Client(raise_request_exception=False)
        cookies = {**self.kept, **sent.cookies}.items()
        # As it goes over the wire: the test client's own would be quoted once more.
        client.defaults["HTTP_COOKIE"] = "; ".join(f"{name}={value}" for name, value in cookies)
        with transaction.atomic():
            before = counts() if compare else {}
            answer = _send(client, sent)
            changed = compare and counts() != before
            transaction.set_rollback(True)
        body = b"" if answer.streaming else answer.content
        return Answer(answer.status_code, changed, body, _what_broke(answer))


def _send(client: Client, sent: Sent) -> Any:
    headers = dict(sent.headers)
    if isinstance(sent.data, bytes):
        method, kind = sent.method.upper(), sent.content_type
        return client.generic(method, sent.address, sent.data, kind, headers=headers)
    return getattr(client, sent.method)(sent.address, sent.data, headers=headers)


def _what_broke(answer: Any) -> str:
    error = (answer.exc_info or (None, None))[1]
    return "" if error is None else f"{type(error).__name__}: {error}"[:300]


@contextmanager
def quiet() -> Iterator[None]:
    """Without the lines that the site writes of every refusal."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)
