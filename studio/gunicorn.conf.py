"""How the site is served: gunicorn -c studio/gunicorn.conf.py studio.wsgi

Each of these can be said on the command line as well. docs/running.md says what stands in front.
"""

import contextlib
import os
import socket
import threading
from typing import Any

from gunicorn.workers.gthread import ThreadWorker

bind = "127.0.0.1:8000"
workers = 2
# A request that is slow to arrive holds a thread: eight of them leave most of the threads free.
threads = 16
# A connection has one request: what is left of a body that was refused is never read.
keepalive = 0
# A worker that says nothing for so long is started again.
timeout = 60
graceful_timeout = 30
limit_request_line = 4094
limit_request_fields = 60
limit_request_field_size = 8190

# A request has so many seconds to arrive, head and body together: 5 MB over a phone's network.
SECONDS_TO_ARRIVE = int(os.environ.get("SECONDS_TO_ARRIVE", "30"))


class InTimeWorker(ThreadWorker):
    """Stops listening to whoever takes too long: the request counts as broken off."""

    def handle(self, conn: Any) -> Any:
        late = threading.Timer(SECONDS_TO_ARRIVE, stop_listening, [conn.sock])
        late.daemon = True
        late.start()
        try:
            return super().handle(conn)
        finally:
            late.cancel()


def stop_listening(connection: socket.socket) -> None:
    """What has arrived is still answered."""
    with contextlib.suppress(OSError):
        connection.shutdown(socket.SHUT_RD)


worker_class = InTimeWorker
