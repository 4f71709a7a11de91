"""The tables that are only added to, of all apps, and lifting their guards for a while."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

import progression.log.guards
import readiness.guards
import studio.db.guards
from studio.db import append_only
from studio.models import Child

GUARDED: append_only.Tables = {
    **studio.db.guards.GUARDED,
    **progression.log.guards.GUARDED,
    **progression.log.guards.LADDER,
    **readiness.guards.GUARDED,
}


@contextmanager
def lifted() -> Iterator[None]:
    """Rows can be changed and deleted meanwhile."""
    # In one commit each: a hundred of them would take longer than most tests.
    with transaction.atomic():
        append_only.remove(connection, GUARDED)
    try:
        yield
    finally:
        with transaction.atomic():
            append_only.install(connection, GUARDED)


def forget_answers(child: Child) -> None:
    """As if nobody had ever been asked about hands."""
    with lifted():
        child.spotting_consents.all().delete()
