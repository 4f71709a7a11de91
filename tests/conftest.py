"""What the tests share: the ladder and the fixed cast of tests/support/cast.py, in the database."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import TransactionTestCase
from whitenoise import WhiteNoise

from progression.models import LadderVersion
from tests.support import guards
from tests.support.cast import LADDER_FILE, Cast, Logged, load_shipped, make_cast


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--full", action="store_true", help="repeat what is repeated as long as asked")


LONG = ("tests/browser/", "tests/studio/test_access.py", "tests/readiness/record/test_upgrade.py")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The order is drawn; but the files that take longest begin first, so that no core idles."""
    items.sort(key=lambda item: not item.nodeid.startswith(LONG))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if terminalreporter.stats.keys() & {"failed", "error"}:
        seed = terminalreporter.config.getoption("randomly_seed", None)
        terminalreporter.write_line(f"The same order again: --randomly-seed={seed}")


@pytest.fixture(scope="session", autouse=True)
def static_files() -> Iterator[None]:
    """Hashed static files, as in the real thing, so that a missing file fails. Each client has a
    site of its own, which would look through all of them before its first answer."""
    call_command("collectstatic", interactive=False, verbosity=0)
    found: dict[str, Any] = {}
    look_through = WhiteNoise.update_files_dictionary
    collected = f"{Path(settings.STATIC_ROOT).resolve()}/"

    def look_through_once(self: WhiteNoise, root: str, prefix: str) -> None:
        if root != collected:
            look_through(self, root, prefix)
            return
        if not found:
            look_through(self, root, prefix)
            found.update(self.files)
        self.files.update(found)

    with patch.object(WhiteNoise, "update_files_dictionary", look_through_once):
        yield


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """PostgreSQL drops no database that somebody is in: a page that a browser left in the
    middle of an answer may keep a server thread's connection open."""
    yield
    if connection.vendor == "postgresql":
        with django_db_blocker.unblock(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid, 10000) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


@pytest.fixture(scope="session", autouse=True)
def _log_can_be_emptied_between_tests() -> Iterator[None]:
    """The flush after a transactional test empties the tables; the guards stand again after.

    For the whole session: a patch of one test would be taken back before that test's flush.
    """
    plain = TransactionTestCase._fixture_teardown

    def without_guards(self: TransactionTestCase) -> None:
        with guards.lifted():
            plain(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", without_guards)
        yield


@pytest.fixture(scope="session")
def ladder_content() -> dict[str, Any]:
    """The shipped ladder, as read from its file."""
    return tomllib.loads(LADDER_FILE.read_text(encoding="utf-8"))


@pytest.fixture
def ladder(db: None, ladder_content: dict[str, Any]) -> LadderVersion:
    """The shipped ladder, loaded."""
    return load_shipped(ladder_content)


@pytest.fixture
def cast(ladder: LadderVersion) -> Cast:
    return make_cast()


@pytest.fixture
def log(cast: Cast) -> Logged:
    return Logged(cast)
