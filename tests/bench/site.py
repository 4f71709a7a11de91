"""A real server for a benchmark: gunicorn on a database and static files of its own."""

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
PATIENCE_SECONDS = 30
WORKERS = 2
THREADS = 16


@contextmanager
def django_on(database_url: str | None = None) -> Iterator[Path]:
    """Django set up, with a folder of its own; SQLite in that folder unless said otherwise.

    Nothing is in the database yet, not even a table.
    """
    with tempfile.TemporaryDirectory(prefix="ladder-bench-") as name:
        folder = Path(name)
        os.environ["LADDER_BENCH_FOLDER"] = name
        os.environ["DATABASE_URL"] = database_url or f"sqlite:///{folder / 'bench.sqlite3'}"
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"
        os.environ["LOG_LEVEL"] = "WARNING"
        import django
        from django.core.management import call_command

        django.setup()
        call_command("collectstatic", interactive=False, verbosity=0)
        yield folder


@contextmanager
def server() -> Iterator[str]:
    """The address of the site, served as in the real thing; needs django_on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"http://127.0.0.1:{port}"
    command = [sys.executable, "-m", "gunicorn", "-c", "studio/gunicorn.conf.py",
               "--workers", str(WORKERS), "--threads", str(THREADS), "--bind", f"127.0.0.1:{port}",
               "--log-level", "error", "studio.wsgi"]  # fmt: skip
    process = subprocess.Popen(command, cwd=ROOT)
    try:
        _wait_for(address)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=PATIENCE_SECONDS)


def _wait_for(address: str) -> None:
    until = time.monotonic() + PATIENCE_SECONDS
    while True:
        try:
            with urllib.request.urlopen(f"{address}/sign-in"):
                return
        except (urllib.error.URLError, ConnectionError):
            if time.monotonic() > until:
                raise
            time.sleep(0.1)
