"""The tables of the log, kept append-only by triggers on both databases.

``install`` and ``remove`` are for migrations.
Shared: used by tests that empty the tables.
"""

from django.db.backends.base.base import BaseDatabaseWrapper

from studio.db import append_only

# Of each table, the personal columns that may be erased.
GUARDED: append_only.Tables = {
    "progression_attempt": (),
    "progression_strike": (),
    "progression_attemptnote": ("text",),
    "progression_attemptproof": (),
    "progression_confirmation": (),
}

# The ladder's own, kept since migration 0009; what was proposed is answered once.
LADDER: append_only.Tables = {
    "progression_ladderversion": (),
    "progression_ladderproposal": ("+answered_by_id", "+answered_at", "+version_id"),
}


def install(connection: BaseDatabaseWrapper) -> None:
    append_only.install(connection, GUARDED)


def remove(connection: BaseDatabaseWrapper) -> None:
    append_only.remove(connection, {**GUARDED, **LADDER})
