"""The floor page's shell: the same for everybody, and its worker lists all that it asks for."""

import datetime
import hashlib
import json
import re
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.test import Client

from studio.models import Staff
from tests.support.cast import TODAY, Cast


def build_of(script: str) -> dict:
    return json.loads(script.split(";\n", 1)[0].removeprefix("const BUILD = "))


def client_of(staff: Staff | None) -> Client:
    client = Client()
    if staff is not None:
        client.force_login(staff)
    return client


def test_the_shell_is_the_floor_page_and_the_same_for_everybody(cast: Cast):
    answers = [client_of(who).get("/floor/shell") for who in (None, cast.omar, cast.petra)]
    assert len({answer.content for answer in answers}) == 1
    floor = client_of(cast.omar).get(f"/floor/{cast.meeting.uuid}")
    assert floor.content == answers[0].content
    assert client_of(None).get("/floor/").content == answers[0].content
    for answer in answers:
        assert not answer.cookies


def test_the_worker_is_never_stored_on_the_way_and_may_hold_the_floor_alone(cast: Cast):
    answer = client_of(None).get("/floor/sw.js")
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["Content-Type"] == "text/javascript; charset=utf-8"
    # Its scope is the folder it comes from (W3C Service Workers, "Service-Worker-Allowed"
    # would widen it).
    assert "Service-Worker-Allowed" not in answer.headers
    assert build_of(answer.text)["scope"] == "/floor/"


def test_the_worker_knows_the_page_it_keeps_by_its_digest(cast: Cast):
    build = build_of(client_of(None).get("/floor/sw.js").text)
    page = client_of(None).get(build["shell"]).content
    assert hashlib.sha256(page).hexdigest() == build["shell_sha256"]


def test_the_worker_is_the_same_for_everybody_and_lists_static_files_alone(cast: Cast):
    scripts = {client_of(who).get("/floor/sw.js").text for who in (None, cast.omar, cast.dora)}
    assert len(scripts) == 1
    assert all(file.startswith("/static/") for file in build_of(scripts.pop())["files"])


def test_every_static_file_that_the_page_or_its_files_name_is_kept(cast: Cast):
    files = set(build_of(client_of(None).get("/floor/sw.js").text)["files"])
    page = client_of(None).get("/floor/shell").text
    named = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page))
    for file in files:
        path = Path(settings.STATIC_ROOT) / file.removeprefix("/static/")
        assert path.is_file(), file
        if path.suffix in (".js", ".css"):
            text = path.read_text(encoding="utf-8")
            near = re.findall(r"""(?:from "|url\(["']?)((?:\.\.?/)[^"')]+)""", text)
            named |= {"/static/" + str(_joined(path.parent, name)) for name in near}
    assert named - files == set()
    assert any("latin-ext" in name for name in named)


def _joined(folder: Path, name: str) -> Path:
    return (folder / name).resolve().relative_to(Path(settings.STATIC_ROOT).resolve())


def test_every_name_that_the_worker_keeps_is_hashed(cast: Cast):
    files = build_of(client_of(None).get("/floor/sw.js").text)["files"]
    assert [file for file in files if not re.search(r"\.[0-9a-f]{12}\.\w+$", file)] == []


def test_another_page_or_file_makes_another_version(cast: Cast, monkeypatch: pytest.MonkeyPatch):
    from readiness.floor import shell

    before = build_of(shell.worker_script())["version"]
    assert build_of(shell.worker_script())["version"] == before
    monkeypatch.setattr(shell, "shell_html", lambda: "another page")
    other_page = build_of(shell.worker_script())["version"]
    monkeypatch.setattr(shell, "static_addresses", lambda: ["/static/another.js"])
    other_files = build_of(shell.worker_script())["version"]
    assert len({before, other_page, other_files}) == 3


def test_the_manifest_names_an_own_icon_for_every_use_and_a_page_that_opens_offline(cast: Cast):
    answer = client_of(None).get("/floor/manifest.webmanifest")
    assert answer.headers["Content-Type"] == "application/manifest+json"
    manifest = answer.json()
    assert manifest["start_url"] == "/floor/"
    assert manifest["start_url"].startswith(manifest["scope"])
    assert manifest["display"] == "standalone"
    assert manifest["name"]
    assert len(manifest["short_name"]) <= 12
    uses = {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]}
    # What Chromium asks of a site before it offers to install it: 192 and 512 pixels.
    assert uses == {(size, use) for size in ("192x192", "512x512") for use in ("any", "maskable")}
    for icon in manifest["icons"]:
        picture = client_of(None).get(icon["src"])
        assert picture.status_code == 200
        picture.close()


def test_the_page_and_every_other_page_name_the_manifest(cast: Cast):
    link = '<link rel="manifest" href="/floor/manifest.webmanifest">'
    for path in ("/sign-in", "/floor/"):
        assert link in client_of(None).get(path).text, path


def test_a_pack_says_when_its_day_is_over_in_the_hall_s_own_zone(cast: Cast):
    pack = client_of(cast.omar).get(f"/floor/{cast.meeting.uuid}/pack").json()
    over = datetime.datetime.fromisoformat(pack["meeting"]["over_at"])
    zone = ZoneInfo(cast.hall.zone)
    assert over == datetime.datetime(TODAY.year, TODAY.month, TODAY.day + 1, tzinfo=zone)


@pytest.mark.parametrize(
    ("day", "over"),
    [
        # The nights on which clocks change in Europe (Directive 2000/84/EC): the last Sundays
        # of March and October, at 01:00 UTC.
        (datetime.date(2026, 3, 28), "2026-03-29T00:00:00+01:00"),
        (datetime.date(2026, 3, 29), "2026-03-30T00:00:00+02:00"),
        (datetime.date(2026, 10, 25), "2026-10-26T00:00:00+01:00"),
        (datetime.date(2026, 12, 31), "2027-01-01T00:00:00+01:00"),
    ],
)
def test_a_day_ends_at_its_local_midnight(cast: Cast, day: datetime.date, over: str):
    assert cast.hall.end_of(day).isoformat() == over


def test_the_pack_call_tells_the_browser_whose_pack_it_is(cast: Cast):
    answer = client_of(cast.omar).get(f"/floor/{cast.meeting.uuid}/pack")
    assert answer.cookies["whose"].value == str(cast.omar.uuid)
    assert not answer.cookies["whose"]["httponly"]
    refused = client_of(cast.dora).get(f"/floor/{cast.meeting.uuid}/pack")
    assert refused.status_code == 404
    assert "whose" not in refused.cookies


def test_no_answer_ever_asks_the_browser_to_clear_its_storage(cast: Cast):
    """It would take the lines that wait with it."""
    client = client_of(cast.omar)
    for answer in (client.get("/"), client.post("/sign-out"), client.get("/sign-in")):
        assert "Clear-Site-Data" not in answer.headers
