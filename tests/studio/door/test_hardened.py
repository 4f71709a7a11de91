"""What stands around the program: headers, files, disks, and Django's own list for going live."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import OperationalError
from django.test import Client

from progression.ladder.file import MOST_OF_A_KIND, faults_in
from studio.imports.refused_file import MOST_SHOWN, RefusedLine, refused_file
from studio.imports.table_file import read_table
from studio.models import ImportDraft
from tests.support.every_page import upload

ROOT = Path(__file__).resolve().parents[3]


def run(folder: Path, *command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    said = {
        "SECRET_KEY": "a key for this test that is as long as one that is made by the program",
        "DATABASE_URL": f"sqlite:///{folder / 'studio.sqlite3'}",
        "DJANGO_SETTINGS_MODULE": "studio.settings",
        **environment,
    }
    # What the browser tests set for themselves is not the program's.
    around = {k: v for k, v in os.environ.items() if k != "DJANGO_ALLOW_ASYNC_UNSAFE"}
    return subprocess.run(
        [sys.executable, *command],
        cwd=ROOT,
        env=around | said,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_django_finds_nothing_to_warn_of_before_going_live(tmp_path):
    live = {"HTTPS": "on", "ALLOWED_HOSTS": "ladder.example", "DEBUG": "off"}
    done = run(tmp_path, "manage.py", "check", "--deploy", "--fail-level", "WARNING", **live)
    assert (done.returncode, "WARNINGS" in done.stderr) == (0, False), done.stderr


@pytest.mark.parametrize(("said", "subdomains"), [("on", "True"), ("off", "False")])
def test_browsers_are_told_of_https_for_a_year_and_of_subdomains_if_said(
    tmp_path, said, subdomains
):
    shown = "s.SECURE_HSTS_SECONDS, s.SECURE_HSTS_INCLUDE_SUBDOMAINS"
    code = f"from django.conf import settings as s; print({shown})"
    done = run(tmp_path, "-c", code, HTTPS="on", HSTS_SUBDOMAINS=said)
    assert done.stdout.strip() == f"{365 * 24 * 3600} {subdomains}"


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such modes")
def test_what_the_program_writes_is_for_its_own_account_alone(tmp_path):
    done = run(tmp_path, "manage.py", "migrate", "studio", "0001", "--verbosity", "0")
    assert done.returncode == 0, done.stderr
    assert stat.S_IMODE((tmp_path / "studio.sqlite3").stat().st_mode) == 0o600


def test_a_page_says_which_of_a_device_s_abilities_it_uses(client):
    policy = client.get("/sign-in")["Permissions-Policy"]
    assert "screen-wake-lock=(self)" in policy
    assert "camera=()" in policy
    assert "geolocation=()" in policy
    scripts = {path: path.read_text() for path in (ROOT / "static").rglob("*.js")}
    for ability in ("geolocation", "requestFullscreen", "DeviceMotionEvent", "toBlob", "toDataURL"):
        assert not [path for path, text in scripts.items() if ability in text]
    filming = [path.name for path, text in scripts.items() if "getUserMedia" in text]
    assert filming == ["memory.js"]


def test_the_floor_page_alone_may_use_the_camera_and_show_what_it_holds(client, cast):
    client.force_login(cast.omar)
    floor = ("/floor/", "/floor/shell", f"/floor/{cast.meeting.uuid}")
    others = ("/", "/halls", "/sign-in", "/floor/words", f"/floor/{cast.meeting.uuid}/pack", "/x")
    for path in (*floor, *others):
        answer = client.get(path)
        allowed = path in floor
        assert ("camera=(self)" in answer["Permissions-Policy"]) is allowed, path
        assert ("img-src 'self' blob:" in answer["Content-Security-Policy"]) is allowed, path
        assert ("camera=()" in answer["Permissions-Policy"]) is not allowed, path
        assert answer["Content-Security-Policy"].startswith("default-src 'self'"), path


@pytest.mark.parametrize(
    ("error", "said"),
    [
        ("database or disk is full", "the disk is full"),
        ('could not extend file "base/1/2": No space left on device', "the disk is full"),
        ("attempt to write a readonly database", "read-only"),
        ("cannot execute UPDATE in a read-only transaction", "read-only"),
        ("disk I/O error", "cannot be read or written"),
    ],
)
def test_a_full_or_read_only_disk_is_named_in_the_log(cast, monkeypatch, caplog, error, said):
    def fail(*_args, **_more):
        raise OperationalError(error)

    client = Client(raise_request_exception=False)
    client.force_login(cast.petra)
    monkeypatch.setattr("studio.tonight.views.render", fail)
    assert client.get("/").status_code == 503
    named = [record.getMessage() for record in caplog.records if record.name == "ladder.database"]
    assert len(named) == 1
    assert said in named[0]


def test_every_cell_of_the_lines_left_out_is_quoted_and_none_is_a_formula():
    table = read_table(b"NAME,BIRTH\n=1+1,x\n\tMai,;y\n")
    text = refused_file(table, [RefusedLine(2, "BIRTH", "no"), RefusedLine(3, "", "-no")])
    for line in text.splitlines():
        assert line.startswith('"')
        assert line.endswith('"')
        assert all(cell[:1] not in set("=+-@") for cell in line.strip('"').split('","'))
    assert read_table(text.encode()).rows[0].cells[3:] == ("=1+1", "x")


def test_a_preview_shows_so_many_messages_and_says_how_many_more_there_are(cast):
    client = Client()
    client.force_login(cast.petra)
    lines = "".join(f"Child {n},someday,Blue\n" for n in range(MOST_SHOWN + 7))
    page = client.post("/roster", {"file": upload(f"NAME,BIRTH,CLASS\n{lines}")})["Location"]
    preview = client.get(page)
    assert "And 7 more" in preview.content.decode()
    assert preview.content.decode().count("Child ") < 20
    client.post(f"{page}/confirm", preview.context["confirm"].initial)
    result = ImportDraft.objects.get().result
    assert (len(result["refused"]), result["messages"]) == (MOST_SHOWN, MOST_SHOWN + 7)
    assert "And 7 more" in client.get(page).content.decode()
    assert client.get(f"{page}/left-out").content.count(b'"someday","Blue"') == MOST_SHOWN + 7


def test_a_ladder_with_far_too_many_drills_is_refused_by_their_number(ladder_content):
    drills = ladder_content["drill"] * (20_000 // len(ladder_content["drill"]) + 1)
    faults = faults_in({**ladder_content, "drill": drills})
    assert [fault.key for fault in faults] == ["drill"]
    assert f"at most {MOST_OF_A_KIND}" in faults[0].message
