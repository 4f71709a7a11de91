"""Backups under load, and restores that are killed: the record is the old one or the backup's,
whole, and the tablets bring back what is lacking."""

import random
import time
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

from django.core.management import CommandError, call_command
from django.db import DatabaseError
from django.test import override_settings

from progression.models import Attempt
from readiness.floor.forms import MOST_LINES
from studio.backup import container
from tests.attack.under_load import (
    finish,
    record_of_today,
    sending,
    server,
    session_of,
    tablets,
    wait_for_more,
)
from tests.support.backups import close, make, remove_kept, start

KILLS, KILLS_IN_FULL = 3, 12
# A restore takes about so long, in seconds.
LONGEST = 8.0
TURNS = Attempt._meta.db_table


def run(full: bool) -> list[str]:
    with (
        TemporaryDirectory() as folder,
        override_settings(BACKUP_DIR=Path(folder)),
        record_of_today() as cast,
    ):
        sent_by = tablets(cast)
        with server() as site:
            with sending(site.port, sent_by):
                wait_for_more(sent_by)
                file = make()
                wait_for_more(sent_by)
            found = finish(site.port, sent_by)
            found += _tried(file)
            if not _refused(file):
                found.append("a restore was not refused while the server ran")
        found += _killed(file, folder, KILLS_IN_FULL if full else KILLS)
        _restore(file)
        remove_kept()
        with server() as site:
            for tablet in sent_by:
                # Everybody signs in again, and the tablets send what they had sent.
                tablet.session = session_of(cast.omar)
                lines = list(tablet.acknowledged.values())
                for first in range(0, len(lines), MOST_LINES):
                    tablet.waiting = lines[first : first + MOST_LINES]
                    if tablet.step(site.port) != 200:
                        found.append("turns were not taken again")
            return found + finish(site.port, sent_by)


def _tried(file: Path) -> list[str]:
    try:
        call_command("backup", verify=file, stdout=StringIO())
    except CommandError as error:
        return [f"a backup made under load cannot be restored: {error}"]
    return []


def _refused(file: Path) -> bool:
    try:
        _restore(file)
    except CommandError:
        return True
    return False


def _restore(file: Path) -> None:
    call_command("restore", str(file), stdout=StringIO())


def _killed(file: Path, folder: str, times: int) -> list[str]:
    """After each the record has as many turns as before or as in the backup."""
    found, before = [], Attempt.objects.count()
    expected = {before, container.unpack(file, Path(folder) / "read").tables[TURNS][0]}
    for _kill in range(times):
        close()
        process = start("restore", str(file), BACKUP_DIR=folder)
        time.sleep(random.uniform(0.3, LONGEST))
        process.kill()
        process.communicate()
        try:
            now = Attempt.objects.count()
        except DatabaseError as error:
            found.append(f"after a restore that was killed there is no record: {error}")
        else:
            if now not in expected:
                found.append(f"after a restore that was killed there are {now} turns")
    return found
