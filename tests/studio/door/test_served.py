"""The site as gunicorn serves it by studio/gunicorn.conf.py: whoever sends slowly stops nobody."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
SECONDS_TO_ARRIVE = 3
HANGING = 8
WHOLE = b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n"
# No static files were collected for a page.
POST = b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nAccept: application/json\r\n"
FORM = POST + b"Content-Length: 90\r\n\r\nusername="
CHUNKED = POST + b"Transfer-Encoding: chunked\r\n\r\n5\r\nusern\r\n"


@pytest.fixture
def port(tmp_path) -> Iterator[int]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = int(free.getsockname()[1])
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "DATABASE_URL": f"sqlite:///{tmp_path / 'none.sqlite3'}",
        "SECONDS_TO_ARRIVE": str(SECONDS_TO_ARRIVE),
    }
    command = [sys.executable, "-m", "gunicorn", "-c", "studio/gunicorn.conf.py"]
    command += ["--bind", f"127.0.0.1:{port}", "--log-level", "critical", "studio.wsgi"]
    server = subprocess.Popen(command, cwd=ROOT, env=environment)
    try:
        _wait_until_it_answers(port)
        yield port
    finally:
        server.terminate()
        server.wait(60)


def _wait_until_it_answers(port: int) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            if asked(port, WHOLE, 5).startswith(b"HTTP/1.1 302"):
                return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the server does not answer")


def asked(port: int, request: bytes, seconds: float) -> bytes:
    """The whole answer until the server closes; TimeoutError if it does not."""
    with socket.create_connection(("127.0.0.1", port), timeout=seconds) as client:
        client.sendall(request)
        return read_all(client)


def read_all(client: socket.socket) -> bytes:
    answer = b""
    while part := client.recv(4096):
        answer += part
    return answer


def test_hanging_bodies_and_heads_stop_nobody_and_end(port):
    hanging = []
    for start in (FORM, WHOLE[:20]):
        for _each in range(HANGING):
            client = socket.create_connection(("127.0.0.1", port), timeout=SECONDS_TO_ARRIVE + 25)
            client.sendall(start)
            hanging.append(client)
    assert asked(port, WHOLE, 10).startswith(b"HTTP/1.1 302")
    answers = [read_all(client) for client in hanging]
    for client in hanging:
        client.close()
    assert {answer[:12] for answer in answers[:HANGING]} == {b"HTTP/1.1 400"}


def test_a_chunked_body_is_refused_and_the_connection_closed(port):
    assert asked(port, CHUNKED, 10).startswith(b"HTTP/1.1 411")
