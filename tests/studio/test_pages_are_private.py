"""Headers and markup of every page: stored nowhere, nothing inline, nothing from elsewhere."""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
import time_machine
from django.conf import settings
from django.contrib.auth.middleware import AuthenticationMiddleware
from django.db import OperationalError
from django.test import Client

from tests.support.cast import Cast
from tests.support.every_page import EVENING, Site, Visit, addresses, build, look, visits

POLICY = {"default-src": "'self'", "object-src": "'none'", "base-uri": "'none'"}


@pytest.fixture
def site(cast, log) -> Iterator[Site]:
    with time_machine.travel(EVENING, tick=False):
        yield build(cast, log)


def policy(answer) -> dict[str, str]:
    parts = answer.headers.get("Content-Security-Policy", "").split(";")
    return dict(part.strip().split(" ", 1) for part in parts if part.strip())


def is_private(answer) -> bool:
    return answer.headers.get("Cache-Control") == "no-store"


def looked_at(site: Site) -> Iterator[tuple[Visit, object]]:
    for visit in visits(site):
        yield visit, look(visit)


def test_every_address_is_private_to_whoever_is_signed_in(site):
    client = Client(raise_request_exception=False)
    for name, address in addresses(site).items():
        for method in ("get", "head", "post"):
            client.force_login(site.cast.petra)
            answer = getattr(client, method)(address)
            assert is_private(answer), (name, method)
            assert POLICY.items() <= policy(answer).items(), (name, method)


def test_static_files_may_be_kept_by_browsers(client, db):
    path = next(value for name, value in manifest().items() if name == "css/base.css")
    answer = client.get(f"/static/{path}")
    assert answer.status_code == 200
    assert "no-store" not in answer.headers.get("Cache-Control", "")
    assert POLICY.items() <= policy(answer).items()
    answer.close()


# Markup


class Markup(HTMLParser):
    """Collects what a page must not have, and every address it loads or links to."""

    def __init__(self) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.loaded: list[str] = []
        self.ids: list[str] = []
        self.referred: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "style":
            self.faults.append("<style>")
        if tag == "script" and "src" not in given and given.get("type") != "application/json":
            self.faults.append("<script> without src")
        for name, value in given.items():
            self._attribute(tag, name, value or "")
        if len(given) != len(attrs):
            self.faults.append(f"<{tag}> says an attribute twice")

    def _attribute(self, tag: str, name: str, value: str) -> None:
        if name == "style" or name.startswith("on") or name.startswith("hx-on"):
            self.faults.append(f"<{tag} {name}=…>")
        if value.strip().lower().startswith(("javascript:", "data:")):
            self.faults.append(f"<{tag} {name}={value[:20]}…>")
        if name == "src" or (tag == "link" and name == "href"):
            self.loaded.append(value)
        if name == "id":
            self.ids.append(value)
        if name in ("for", "aria-labelledby", "aria-describedby", "form"):
            self.referred.extend(value.split())


def markup(html: str) -> Markup:
    found = Markup()
    found.feed(html)
    found.close()
    return found


def manifest() -> dict[str, str]:
    path = Path(settings.STATIC_ROOT) / "staticfiles.json"
    return json.loads(path.read_text(encoding="utf-8"))["paths"]


# Headings that the floor page's scripts draw.
FILLED_BY_SCRIPT = {"faults-title", "hold-title"}
# The one that a page loads and that is not a file: it is translated.
TRANSLATED = "/floor/manifest.webmanifest"


def test_every_page_answers_as_listed_is_private_and_well_made(site):
    """All in one walk, as there are many pages."""
    known = set(manifest().values())
    found, walked = [], 0
    for visit, answer in looked_at(site):
        faults = [*faults_of_headers(answer)]
        if answer.status_code != visit.status:
            faults.append(f"{answer.status_code}, not {visit.status}")
        if answer.headers["Content-Type"].startswith("text/html"):
            walked += 1
            faults += faults_of_page(markup(answer.content.decode()), known)
        found += [f"{visit.name}: {fault}" for fault in faults]
    assert walked > 10
    assert found == []


def faults_of_headers(answer) -> Iterator[str]:
    """What comes from elsewhere is forbidden, and the answer is stored nowhere."""
    if not POLICY.items() <= policy(answer).items():
        yield "the policy"
    if "unsafe" in answer.headers["Content-Security-Policy"]:
        yield "an unsafe policy"
    if not is_private(answer):
        yield "may be stored"
    if answer.headers["X-Content-Type-Options"] != "nosniff":
        yield "no nosniff"


def faults_of_page(page: Markup, known: set[str]) -> Iterator[str]:
    """Inline scripts and styles; what is loaded and is no hashed file of our own; ids."""
    yield from page.faults
    if not page.loaded:
        yield "loads nothing"
    for address in set(page.loaded) - {TRANSLATED}:
        parts = urlsplit(address)
        path = unquote(parts.path).removeprefix("/static/")
        hashed = re.search(r"\.[0-9a-f]{12}\.", path)
        if (parts.scheme, parts.netloc) != ("", "") or path not in known or not hashed:
            yield f"loads {address}"
    if len(page.ids) != len(set(page.ids)):
        yield "an id twice"
    for missing in set(page.referred) - set(page.ids) - FILLED_BY_SCRIPT:
        yield f"refers to {missing}"


def test_no_stylesheet_or_script_loads_anything_from_elsewhere():
    for path in manifest():
        file = Path(settings.STATIC_ROOT) / path
        if file.suffix == ".css":
            text = file.read_text(encoding="utf-8")
            assert not re.search(r"(url\(\s*['\"]?|@import\s+['\"])(https?:)?//", text), path


@pytest.mark.parametrize(
    ("html", "faults"),
    [
        ("<p style='x'>", ["<p style=…>"]),
        ("<p onclick=x>", ["<p onclick=…>"]),
        ("<style>", ["<style>"]),
        ("<script>", ["<script> without src"]),
        ("<script type='application/json'>{}</script>", []),
        ("<a href='javascript:x'>", ["<a href=javascript:x…>"]),
        ("<p hx-on:click=x>", ["<p hx-on:click=…>"]),
    ],
)
def test_the_reader_of_pages_sees_what_it_looks_for(html, faults):
    assert markup(html).faults == faults


# What went wrong


def broken(*args: object, **kwargs: object) -> None:
    raise RuntimeError("broken on purpose")


@pytest.fixture
def strict(cast: Cast) -> Client:
    """Omar, with the form tokens checked and errors answered as in the real thing."""
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(cast.omar)
    return client


def test_a_page_that_breaks_is_answered_with_a_page(strict, monkeypatch):
    monkeypatch.setattr("studio.access.visible_classes", broken)
    answer = strict.get("/")
    assert answer.status_code == 500
    assert "Something went wrong" in answer.text
    assert "broken on purpose" not in answer.text
    assert is_private(answer)
    assert POLICY.items() <= policy(answer).items()


def test_a_server_that_cannot_ask_who_it_is_still_answers_with_a_page(strict, monkeypatch):
    monkeypatch.setattr("django.contrib.auth.get_user", broken)
    monkeypatch.setattr("django.contrib.auth.middleware.auth.get_user", broken)
    assert AuthenticationMiddleware
    answer = strict.get("/")
    assert answer.status_code == 500
    assert "Something went wrong" in answer.text
    assert is_private(answer)
    assert POLICY.items() <= policy(answer).items()


def test_a_host_that_is_not_ours_is_answered_with_a_page(client, db):
    answer = client.get("/", headers={"Host": "elsewhere.example"})
    assert answer.status_code == 400
    assert POLICY.items() <= policy(answer).items()


def test_a_form_without_its_token_is_refused_with_a_page(strict, cast):
    answer = strict.post(f"/classes/{cast.blue.uuid}/meet")
    assert answer.status_code == 403
    assert "This page was open for too long." in answer.text
    assert is_private(answer)
    assert POLICY.items() <= policy(answer).items()


# The floor's calls are answered with JSON, whatever happens


def sent(client: Client, address: str, **headers: str):
    body = json.dumps({"v": 1, "device": "t", "sent_at": EVENING.isoformat(), "lines": []})
    return client.post(address, body, content_type="application/json", headers=headers)


def error_in(answer) -> tuple[int, str]:
    assert answer.headers["Content-Type"] == "application/json"
    assert POLICY.items() <= policy(answer).items()
    assert is_private(answer)
    error = answer.json()
    assert set(error) == {"error", "sentence"}
    assert error["sentence"]
    return answer.status_code, error["error"]


@pytest.fixture
def attempts(cast: Cast) -> str:
    return f"/floor/{cast.meeting.uuid}/attempts"


def test_a_call_from_nobody_is_answered_401(client, attempts, cast):
    assert error_in(sent(client, attempts)) == (401, "sign-in")
    assert error_in(client.get(f"/floor/{cast.meeting.uuid}/pack")) == (401, "sign-in")


def token_of(client: Client, cast: Cast) -> str:
    client.get(f"/floor/{cast.meeting.uuid}/pack")
    return client.cookies[settings.CSRF_COOKIE_NAME].value


def test_a_call_with_the_token_of_the_cookie_is_taken(strict, attempts, cast):
    answer = sent(strict, attempts, **{"X-CSRFToken": token_of(strict, cast)})
    assert answer.status_code == 200


def test_a_call_with_no_token_or_an_old_one_is_answered_403(strict, attempts, cast):
    old = token_of(strict, cast)
    assert error_in(sent(strict, attempts)) == (403, "stale-token")
    strict.logout()
    strict.cookies.clear()
    strict.force_login(cast.omar)
    fresh = token_of(strict, cast)
    assert error_in(sent(strict, attempts, **{"X-CSRFToken": old})) == (403, "stale-token")
    assert sent(strict, attempts, **{"X-CSRFToken": fresh}).status_code == 200


def test_a_call_after_the_session_ended_is_answered_401_although_its_token_is_good(
    strict, attempts, cast
):
    token = token_of(strict, cast)
    del strict.cookies[settings.SESSION_COOKIE_NAME]
    answer = sent(strict, attempts, **{"X-CSRFToken": token})
    assert error_in(answer) == (401, "sign-in")


def test_a_call_to_another_class_is_answered_404(client, attempts, cast):
    client.force_login(cast.ines)
    answer = sent(client, attempts)
    # With the log's name, by which a tablet knows that the server was restored.
    assert answer.status_code == 404
    assert answer.json().keys() == {"error", "sentence", "log"}
    assert error_in(client.get(f"/floor/{cast.meeting.uuid}/pack")) == (404, "not-found")


def test_a_call_that_breaks_is_answered_500(strict, attempts, cast, monkeypatch):
    token = token_of(strict, cast)
    monkeypatch.setattr("readiness.floor.views.take_lines", broken)
    answer = sent(strict, attempts, **{"X-CSRFToken": token})
    assert error_in(answer) == (500, "broken")


def test_a_page_that_finds_the_database_busy_is_answered_503(client, cast, monkeypatch):
    def locked(*args: object) -> None:
        raise OperationalError("database is locked")

    client.force_login(cast.petra)
    monkeypatch.setattr("readiness.review.rows.fresh_standings", locked)
    answer = client.get("/review")
    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert "What you just did was not kept." in answer.content.decode()
    monkeypatch.setattr("readiness.floor.views.build_pack", locked)
    assert error_in(client.get(f"/floor/{cast.meeting.uuid}/pack")) == (503, "busy")


def test_a_database_that_lets_nobody_in_is_told_as_busy_before_any_view(
    client, attempts, cast, monkeypatch
):
    """The session is what each call asks for first."""

    def no_connection(*args: object) -> None:
        raise OperationalError("couldn't get a connection after 10.00 sec")

    client.force_login(cast.omar)
    client.raise_request_exception = False
    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.load", no_connection)
    answer = client.post(attempts, "{}", content_type="application/json")
    assert (answer["Retry-After"], *error_in(answer)) == ("5", 503, "busy")
    answer = client.get("/review")
    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert "What you just did was not kept." in answer.content.decode()


def test_a_call_that_cannot_be_read_is_answered_400(client, attempts, cast):
    client.force_login(cast.omar)
    answer = client.post(attempts, "{", content_type="application/json")
    assert error_in(answer)[0] == 400


def test_the_floor_page_is_the_same_for_everybody(site):
    seen = set()
    for staff in (site.cast.omar, site.cast.tam, site.cast.petra):
        client = Client()
        client.force_login(staff)
        seen.add(client.get(f"/floor/{site.cast.meeting.uuid}").content)
    assert len(seen) == 1
    (html,) = seen
    for secret in ("Mai", "Ilse", "Omar", "Blue", "Weir Lane"):
        assert secret.encode() not in html
