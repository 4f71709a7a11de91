"""Whatever a client can send, at random, to every address, form and header: no answer is a 500.

The seed makes the same requests again. Forms are read off the site's own pages, filled as they
stand, and then spoiled in one to three places, so that most get past the first check.
"""

import json
import random
from collections.abc import Callable
from html.parser import HTMLParser
from typing import Any
from urllib.parse import quote, urlencode

from tests.attack.site import Browser, Sent, attacked_site, people, quiet
from tests.attack.values import (
    CONTENT_TYPES,
    COOKIE_VALUES,
    COOKIES,
    HEADERS,
    TEXTS,
    as_header,
    mutated,
)
from tests.support.cast import time_ordered_id
from tests.support.every_page import (
    EVENING,
    PAPER,
    ROSTER,
    Site,
    addresses,
    visits,
)

SEED = 20261128
# Pages and forms; calls and files of tablets.
SHORT, FULL = (1_200, 400), (12_000, 4_000)
PLAIN = "application/x-www-form-urlencoded"
Fields = dict[str, str]


class Forms(HTMLParser):
    """The forms of a page that are posted: where to, and their fields as they stand."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, Fields]] = []
        self._fields: Fields | None = None
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        about = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._fields = {}
            if about.get("method", "").lower() == "post":
                self.found.append((about.get("action", ""), self._fields))
        elif self._fields is None:
            return
        elif tag in ("input", "textarea", "button") and about.get("name"):
            self._fields.setdefault(about["name"], about.get("value", "") or "x")
        elif tag == "select":
            self._select = about.get("name", "")
        elif tag == "option" and self._select and about.get("value"):
            self._fields[self._select] = about["value"]

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._fields = None
        elif tag == "select":
            self._select = ""


class Fuzz:
    """Makes requests of a seed and looks at the answers."""

    def __init__(self, site: Site, seed: int) -> None:
        self.site, self.seed, self.chance = site, seed, random.Random(seed)
        self.browsers = {role: Browser(staff) for role, staff in people(site.cast).items()}
        self.forms = self._forms_of_all_pages()

    def run(self, pages: int, calls: int) -> list[str]:
        """What broke, each kind once, with the request that did it."""
        found: dict[str, str] = {}
        makers = [self._page_or_form] * pages + [self._call_or_file] * calls
        for nth, make in enumerate(makers):
            role, sent = self._made(make)
            answer = self.browsers[role].ask(sent)
            if answer.status >= 500:
                told = f"seed {self.seed}, request {nth}, {role}: {answer.status} {answer.broke}"
                found.setdefault(answer.broke[:80], f"{told} — {sent.told()[:1500]}")
        return list(found.values())

    def _made(self, make: Callable[[], Sent]) -> tuple[str, Sent]:
        weights = [1, 2, 1, 6, 1, 1]
        return self.chance.choices(list(self.browsers), weights)[0], make()

    def _forms_of_all_pages(self) -> list[tuple[str, Fields]]:
        """Of everything that each role can look at, and of each address without its fields."""
        known = {address: {} for address in addresses(self.site).values()}
        found = list[tuple[str, Fields]](known.items())
        for visit in visits(self.site):
            if visit.post is not None:
                fields = {name: str(value) for name, value in visit.post.items()}
                found.append((visit.address, fields))
            else:
                page = Forms()
                page.feed(visit.made().get(visit.address).content.decode())
                found += [(action or visit.address, fields) for action, fields in page.found]
        return found

    def _page_or_form(self) -> Sent:
        chance = self.chance
        address, fields = chance.choice(self.forms)
        fields = self._spoiled(fields)
        about = self._headers_and_cookies()
        if chance.random() < 0.1:
            address = self._spoiled_address(address)
        if chance.random() < 0.25:
            query = urlencode(fields, errors="surrogatepass")
            return Sent(chance.choice(("get", "head")), f"{address}?{query}"[:8000], **about)
        if chance.random() < 0.08:
            kind = chance.choice(CONTENT_TYPES)
            return Sent("post", address, self._raw_body(fields, kind), kind, **about)
        body = urlencode(fields, errors="surrogatepass").encode()
        method = chance.choice(("post",) * 12 + ("put", "delete", "patch", "options"))
        return Sent(method, address, body, PLAIN, **about)

    def _spoiled(self, fields: Fields) -> Fields:
        chance, spoiled = self.chance, dict(fields)
        for _ in range(chance.choice((0, 1, 1, 2, 3))):
            name = chance.choice([*sorted(spoiled), self._field_name()])
            spoiled[name] = chance.choice(TEXTS)
        return spoiled

    def _field_name(self) -> str:
        names = ("next", "token", "who", "pin", "device", "version", "stage", "state", "file")
        return self.chance.choice((*names, f"answer-{self.chance.choice(TEXTS)}", "answer-3"))

    def _spoiled_address(self, address: str) -> str:
        parts = address.split("/")
        at = self.chance.randrange(1, len(parts))
        parts[at] = quote(self.chance.choice(TEXTS)[:300], safe="", errors="surrogatepass")
        return "/" + "/".join(parts[1:])

    def _headers_and_cookies(self) -> dict[str, Any]:
        chance = self.chance
        headers = {
            name: as_header(chance.choice((*TEXTS, "true", "*/*", "en", "bytes=9-1")))
            for name in chance.sample(HEADERS, chance.choice((0, 0, 1, 2, 4)))
        }
        cookies = {
            name: chance.choice((*COOKIE_VALUES, "en"))
            for name in chance.sample(COOKIES, chance.choice((0, 0, 0, 0, 1, 2)))
        }
        if "tablet" not in cookies and chance.random() < 0.2:
            cookies["tablet"] = self.site.secret
        return {"headers": headers, "cookies": cookies}

    def _raw_body(self, fields: Fields, kind: str) -> bytes:
        if "boundary=x" not in kind:
            return self.chance.choice((b"{", b"\xff" * 40, json.dumps(fields).encode()))
        part = '--x\r\nContent-Disposition: form-data; name="{}"\r\n\r\n{}\r\n'
        body = "".join(part.format(*each) for each in fields.items())
        return (body + "--x--\r\n").encode("utf-8", "surrogatepass")

    def _call_or_file(self) -> Sent:
        chance, meeting = self.chance, self.site.cast.meeting.uuid
        call = self._call()
        for _ in range(chance.choice((1, 1, 2, 3))):
            call = mutated(chance, call)
        if chance.random() < 0.7:
            body = json.dumps(call).encode()
            if chance.random() < 0.05:
                body = self._cut(body)
            address = f"/floor/{meeting}/attempts"
            return Sent("post", address, body, "application/json", **self._headers_and_cookies())
        name = chance.choice(("roster", "paper", "outbox-file"))
        head = '--x\r\nContent-Disposition: form-data; name="file"; filename="{}"\r\n\r\n'
        head = head.format(chance.choice(TEXTS)[:200]).encode("utf-8", "surrogatepass")
        body = head + self._file(name, call) + b"\r\n--x--\r\n"
        kind = "multipart/form-data; boundary=x"
        return Sent("post", f"/{name}", body, kind, **self._headers_and_cookies())

    def _call(self) -> Any:
        cast, chance = self.site.cast, self.chance
        base = {
            "id": str(time_ordered_id(EVENING, chance.randrange(4096))),
            "at": EVENING.isoformat(),
            "child": str(cast.mai.uuid),
            "by": str(chance.choice((cast.omar, cast.petra)).uuid),
            "pack": "x", "page": "p", "mono": 5, "offset": 0,
        }  # fmt: skip
        turn = {"drill": "back-walkover", "surface": "sprung-dance-floor", "support": 3}
        kinds = (
            {"kind": "turn", **turn, "clean": False, "faults": ["arms-give"], "caught": True},
            {"kind": "turn", **turn, "drill": "hollow-hold", "value": 5, "less": "judged-right"},
            {"kind": "strike", "turn": str(time_ordered_id(EVENING, 1)), "code": "wrong-tap"},
            {"kind": "here", "present": True},
            {"kind": "hurt", "place": "wrist"},
            {"kind": "gone", "place": "wrist"},
            {"kind": "fell"},
            {"kind": "growing"},
            {"kind": "told", "what": "fall", "whom": "guardian-here"},
            {"kind": "no-hands"},
            {"kind": "hall", "what": "mat-broken", "surface": "spring-floor"},
            {"kind": "rotation", "number": 2},
        )
        lines = [{**base, **kind} for kind in chance.sample(kinds, chance.choice((1, 2, 4)))]
        return {
            "v": chance.choice((1, 2)), "device": "t", "sent_at": EVENING.isoformat(), "page": "p",
            "mono": 5, "author": base["by"], "log": None, "last": None, "lines": lines,
        }  # fmt: skip

    def _file(self, name: str, call: Any) -> bytes:
        if name == "outbox-file":
            lines = call.get("lines") if isinstance(call, dict) else None
            meeting, author = str(self.site.cast.meeting.uuid), str(self.site.cast.omar.uuid)
            records = [
                {"meeting": meeting, "author": author, "line": line}
                for line in (lines if isinstance(lines, list) else [])
            ]
            file = {"v": 2, "device": "t", "saved_at": "", "offset": 0, "records": records}
            return json.dumps(mutated(self.chance, file)).encode()
        cells = (ROSTER if name == "roster" else PAPER).split(",")
        for _ in range(self.chance.choice((1, 2, 3))):
            cells[self.chance.randrange(len(cells))] = str(self.chance.choice(TEXTS))
        text = ",".join(cells)
        return self._cut(text.encode(self.chance.choice(("utf-8", "utf-16")), "replace"))

    def _cut(self, data: bytes) -> bytes:
        if self.chance.random() < 0.7:
            return data
        at = self.chance.randrange(len(data) + 1)
        return data[:at] + self.chance.randbytes(self.chance.choice((0, 1, 8))) + data[at + 1 :]


def run(full: bool) -> list[str]:
    with attacked_site() as site, quiet():
        return Fuzz(site, SEED).run(*(FULL if full else SHORT))
