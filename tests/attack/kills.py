"""A server that is killed and started again under load, and one whose disk is full: what was
acknowledged is there, once."""

import os
import random
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.db import connection

from tests.attack.under_load import (
    finish,
    record_of_today,
    sending,
    server,
    tablets,
    wait_for_more,
)

KILLS, KILLS_IN_FULL = 5, 22


def run(full: bool) -> list[str]:
    found = _kills(KILLS_IN_FULL if full else KILLS)
    if connection.vendor == "sqlite":
        # PostgreSQL's own disk is that server's matter.
        found += _full_disk()
    return found


def _kills(times: int) -> list[str]:
    with record_of_today() as cast, server() as site:
        sent_by = tablets(cast)
        with sending(site.port, sent_by):
            for _kill in range(times):
                time.sleep(random.uniform(0.2, 1.2))
                site.stop()
                site.start()
            wait_for_more(sent_by)
        found = finish(site.port, sent_by)
        if not any(tablet.acknowledged for tablet in sent_by):
            found.append("no turn was ever acknowledged")
        return found


def _full_disk() -> list[str]:
    with record_of_today() as cast:
        sent_by, statuses = tablets(cast)[:1], set()
        room = Path(str(connection.settings_dict["NAME"])).stat().st_size
        with server(LADDER_MOST_BYTES=str(room // 2)) as site:
            site.stop()
            site.wrapper = "tests.attack.kills:on_a_full_disk"
            site.start()
            end = time.monotonic() + 60
            while not statuses & {500, 503} and time.monotonic() < end:
                statuses.add(sent_by[0].step(site.port))
        found = [] if statuses & {500, 503} else [f"the disk was never full: {statuses}"]
        if 500 in statuses:
            found.append("a full disk is answered with 500")
        with server() as site:
            return found + finish(site.port, sent_by)


def on_a_full_disk(site: Callable[..., Any]) -> Callable[..., Any]:
    """In the server: no file may grow over so many bytes."""
    import resource

    most = int(os.environ["LADDER_MOST_BYTES"])
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    return site
