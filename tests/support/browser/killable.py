"""The site in a process of its own, on the tests' database, that can be killed at any moment.

A test that asks for the fixture ``killable`` (tests/browser/conftest.py) gets one, and its
browser context opens that one's pages. ``stop`` is SIGKILL: nothing is tidied up, and from then
on connections are refused. ``start`` again brings it back on the same port with the same
database.
"""

import contextlib
import importlib
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from django.conf import settings
from django.db import connection

ROOT = Path(__file__).resolve().parents[3]
PATIENCE = 60.0


class Killable:
    """``static`` is the folder that collectstatic filled; ``wrapper`` names, as "module:name", a
    function that takes the site (WSGI) and answers what is served instead."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.static = Path(settings.STATIC_ROOT)
        self.wrapper = ""
        # What else the process finds in its environment.
        self.environment: dict[str, str] = {}
        self.port = _free_port()
        self.url = f"http://localhost:{self.port}"
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        environment = os.environ | {
            "DJANGO_SETTINGS_MODULE": "tests.settings",
            "DATABASE_URL": database_url(),
            # Where the settings of the tests make a folder that nobody empties after SIGKILL.
            "TMPDIR": str(self.folder),
            "KILLABLE_STATIC": str(self.static),
            "KILLABLE_WRAPPER": self.wrapper,
        }
        command = [sys.executable, "-m", "tests.support.browser.killable", str(self.port)]
        with (self.folder / "server.log").open("ab") as log:
            self._process = subprocess.Popen(
                command, cwd=ROOT, env=environment | self.environment, stdout=log, stderr=log
            )
        self._wait_until_it_answers()

    def stop(self) -> None:
        """At once and without warning."""
        if self._process is not None:
            self._process.send_signal(signal.SIGKILL)
            self._process.wait()
            self._process = None

    def wait_until_dead(self) -> None:
        """For a server that kills itself."""
        assert self._process is not None
        self._process.wait(PATIENCE)
        self._process = None

    def said(self) -> str:
        return (self.folder / "server.log").read_text(encoding="utf-8", errors="replace")

    def _wait_until_it_answers(self) -> None:
        assert self._process is not None
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if self._process.poll() is not None and self.environment:
                # It is one that dies, and a page has asked before this did.
                return
            assert self._process.poll() is None, self.said()
            with contextlib.suppress(OSError):
                socket.create_connection(("localhost", self.port), timeout=1).close()
                return
            time.sleep(0.05)
        raise AssertionError(self.said())


def _free_port() -> int:
    with socket.create_server(("localhost", 0)) as found:
        return int(found.getsockname()[1])


def database_url() -> str:
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    who = f"{database['USER']}:{database['PASSWORD']}".strip(":")
    where = f"{database['HOST'] or 'localhost'}:{database['PORT'] or 5432}"
    return f"postgres://{who}@{where}/{database['NAME']}"


def serve(port: int) -> None:
    """In the process that is to be killed."""
    import django
    from django.core.servers.basehttp import run

    settings.STATIC_ROOT = Path(os.environ["KILLABLE_STATIC"])
    django.setup()
    from studio.wsgi import application

    site = application
    if wrapper := os.environ["KILLABLE_WRAPPER"]:
        module, name = wrapper.split(":")
        site = getattr(importlib.import_module(module), name)(application)
    run("localhost", port, site, threading=True)


if __name__ == "__main__":
    serve(int(sys.argv[1]))
