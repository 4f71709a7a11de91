"""manage.py backup: make a backup, or try out one that there is."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.backup.container import BackupError
from studio.backup.making import make_backup, verify


class Command(BaseCommand):
    help = "Make a backup of the whole record, or try out one that was made."
    # A backup is made before the tables are brought up to a new release.
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, metavar="DIR", help="instead of BACKUP_DIR")
        parser.add_argument(
            "--encrypt", action="store_true", help="for the keys in BACKUP_RECIPIENTS"
        )
        parser.add_argument(
            "--verify",
            type=Path,
            metavar="FILE",
            help="make none: restore this one to a scratch place and compare all of it",
        )
        parser.add_argument("--identity", type=Path, metavar="FILE", help="the key of --verify")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.stdout.write(self._verify(options) if options["verify"] else self._make(options))
        except (BackupError, OSError) as error:
            raise CommandError(str(error)) from error

    def _make(self, options: dict[str, Any]) -> str:
        made = make_backup(timezone.now(), options["to"], options["encrypt"])
        return _("%(file)s: %(rows)d rows of %(tables)d tables. Older ones removed: %(old)d.") % {
            "file": made.file,
            "rows": made.rows,
            "tables": made.tables,
            "old": len(made.removed),
        }

    def _verify(self, options: dict[str, Any]) -> str:
        about = verify(options["verify"], options["identity"])
        return _(
            "This backup of %(moment)s can be restored: counts, digests, tallies and standings "
            "are as they should be."
        ) % {"moment": about.made_at}
