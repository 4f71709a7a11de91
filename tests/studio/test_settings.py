"""What the settings hold to, whatever the environment says."""

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage

ROOT = Path(__file__).resolve().parents[2]
# The last line of what the child process prints.
SHOW = "from django.conf import settings as s; s.INSTALLED_APPS; print({expression})"


def started(
    *arguments: str, code: str, folder: Path, **environment: str
) -> subprocess.CompletedProcess[str]:
    """Read the real settings in a process of its own, as the command line given.

    The project's own var/ may hold a key: the copy of the settings looked at here stands in
    an empty folder.
    """
    package = folder / "studio"
    package.mkdir(exist_ok=True)
    for name in ("__init__.py", "settings.py"):
        (package / name).write_text((ROOT / "studio" / name).read_text(encoding="utf-8"))
    inherited = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    line = f"import sys; sys.argv = {['manage.py', *arguments]!r}; {code}"
    return subprocess.run(
        [sys.executable, "-c", line],
        cwd=folder,
        env=inherited | {"DJANGO_SETTINGS_MODULE": "studio.settings"} | environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def value(folder: Path, expression: str, *arguments: str, **environment: str) -> str:
    done = started(
        *arguments, code=SHOW.format(expression=expression), folder=folder, **environment
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.parametrize("command", ["check", "runserver", "migrate", "readings"])
def test_nothing_starts_without_a_secret_key(tmp_path, command):
    done = started(command, code=SHOW.format(expression="s.DEBUG"), folder=tmp_path)
    assert done.returncode != 0
    assert "ImproperlyConfigured: Set SECRET_KEY" in done.stderr
    assert done.stdout == ""


def test_the_site_served_by_gunicorn_does_not_start_without_a_secret_key(tmp_path):
    done = started(code=SHOW.format(expression="s.DEBUG"), folder=tmp_path)
    assert "ImproperlyConfigured: Set SECRET_KEY" in done.stderr


def test_a_key_in_the_environment_is_taken(tmp_path):
    assert value(tmp_path, "s.SECRET_KEY", "check", SECRET_KEY="of my own") == "of my own"


def test_a_key_kept_by_the_first_run_is_taken(tmp_path):
    (tmp_path / "var").mkdir()
    (tmp_path / "var" / "secret-key").write_text("kept\n")
    assert value(tmp_path, "s.SECRET_KEY", "check") == "kept"


def test_the_demo_needs_no_key_and_keeps_to_its_own_database(tmp_path):
    found = value(
        tmp_path,
        "bool(s.SECRET_KEY), s.DEBUG, s.DATABASES['default']['NAME'].endswith('demo.sqlite3')",
        "demo",
        DATABASE_URL="sqlite:///somewhere-else.sqlite3",
    )
    assert found == "True False True"


@pytest.mark.parametrize(
    ("arguments", "demo"),
    [
        (["readings", "--demo", "--child", "Jonas"], "True"),
        (["readings", "--child", "Jonas", "--demo"], "True"),
        (["readings", "--child", "Jonas"], "False"),
        (["runserver", "--demo"], "False"),
    ],
)
def test_the_readings_of_the_demo_s_children_come_from_its_database(tmp_path, arguments, demo):
    asked = "s.DATABASES['default']['NAME'].endswith('demo.sqlite3')"
    assert value(tmp_path, asked, *arguments, SECRET_KEY="k") == demo


@pytest.mark.parametrize(("environment", "debug"), [({}, "False"), ({"DEBUG": "on"}, "True")])
def test_debug_is_off_unless_asked_for(tmp_path, environment, debug):
    assert value(tmp_path, "s.DEBUG", "check", SECRET_KEY="k", **environment) == debug


def test_https_makes_every_cookie_secure(tmp_path):
    shown = "s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SECURE_SSL_REDIRECT"
    assert value(tmp_path, shown, "check", SECRET_KEY="k", HTTPS="on") == "True True True"
    assert value(tmp_path, shown, "check", SECRET_KEY="k") == "False False False"


def test_the_admin_site_is_not_installed():
    # It would go round every rule of who may see and do what.
    assert not apps.is_installed("django.contrib.admin")


def test_times_are_kept_with_their_zone():
    assert settings.USE_TZ is True


def test_postgresql_is_reached_through_a_pool_and_its_own_options_are_kept(tmp_path):
    found = value(
        tmp_path,
        "[s.DATABASES['default'][k] for k in ('OPTIONS', 'CONN_MAX_AGE', 'CONN_HEALTH_CHECKS')]",
        "check",
        SECRET_KEY="k",
        DATABASE_URL="postgres://ladder@db.example/ladder?sslmode=require",
    )
    options, age, checked = ast.literal_eval(found)
    assert options["sslmode"] == "require"
    # Django refuses a pool for connections that a thread keeps.
    assert (age, checked) == (0, True)
    assert 1 <= options["pool"]["min_size"] <= options["pool"]["max_size"]


def test_requests_are_not_wrapped_in_transactions_as_a_whole():
    assert settings.DATABASES["default"].get("ATOMIC_REQUESTS", False) is False


def test_the_tests_run_with_debug_off_and_hashed_static_files():
    assert settings.DEBUG is False
    assert isinstance(staticfiles_storage, ManifestFilesMixin)


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites():
    assert settings.SESSION_COOKIE_HTTPONLY is True
    assert settings.SESSION_COOKIE_SAMESITE == "Lax"


def test_every_setting_read_from_the_environment_is_written_down():
    source = (ROOT / "studio" / "settings.py").read_text(encoding="utf-8")
    read = set(re.findall(r'env(?:\.\w+)?\(\s*"([A-Z_]+)"', source))
    page = (ROOT / "docs" / "running.md").read_text(encoding="utf-8")
    assert "SECRET_KEY" in read
    assert {name for name in read if f"`{name}`" not in page} == set()


@pytest.mark.parametrize("day", ["02-29", "13-01", "1 September", ""])
def test_a_season_begins_on_a_day_of_every_year_or_nothing_starts(tmp_path, day):
    done = started(
        code=SHOW.format(expression="s.DEBUG"), folder=tmp_path, SECRET_KEY="k", SEASON_BEGINS=day
    )
    assert done.returncode != 0
    assert "SEASON_BEGINS is a month and a day of every year" in done.stderr
