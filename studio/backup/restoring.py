"""A backup put in the place of the record, and what ends with it.

The backup is loaded beside, brought up to this release and checked there; only then do the two
change places, by a rename. Until then nothing has happened to what is here.
"""

import datetime
import logging
import uuid
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection, transaction
from django.utils.module_loading import import_string

from studio.backup.container import About, stamp
from studio.backup.making import (
    database_of,
    load_checked,
    open_backup,
    run_on,
    work_folder,
)
from studio.models import OneTimeLink, Restore, Studio, Tablet

log = logging.getLogger("ladder.backup")


def restore(file: Path, identity: Path | None, now: datetime.datetime) -> tuple[About, str]:
    """Put a backup in the place of the database; says what it holds, and under which name the one
    that was here is kept, "" if there was none.

    Raises BackupError, with nothing changed here.
    """
    database = database_of(connection)
    connection.close()
    close_pool = getattr(connection, "close_pool", None)
    if close_pool:
        close_pool()
    with work_folder() as work, database.nobody_in_it():
        about, data = open_backup(file, work, identity)
        fresh = database.beside()
        try:
            load_checked(fresh, data, about)
            run_on(fresh.url, "migrate", "--verbosity=0")
            run_on(fresh.url, "after_restore", about.made_at)
            # What is derived may be wrong in a backup; the turns decide.
            run_on(fresh.url, "rebuild_standings")
            kept = database.replace_by(fresh, stamp(now))
        finally:
            fresh.remove()
    log.info("restored from=%s", about.made_at)
    return about, kept


def end_what_was_open(made_at: datetime.datetime, now: datetime.datetime) -> None:
    """In a database that is as it was at ``made_at``: everybody signs in again, tablets are
    enrolled again, and the log has a new name, so that tablets send again what they keep.

    Whose access was ended since then nobody here can know: the directors are asked.
    """
    with transaction.atomic():
        Studio.objects.update(log=uuid.uuid4())
        Session.objects.all().delete()
        # A link that was used since would be good again.
        OneTimeLink.objects.filter(used_at=None).delete()
        import_string(settings.AFTER_RESTORE)(now)
        Tablet.objects.filter(withdrawn_at=None).update(withdrawn_at=now)
        Restore.objects.create(made_at=made_at, at=now)
