"""manage.py restore FILE: put a backup in the place of the record."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.backup.container import BackupError
from studio.backup.restoring import restore


class Command(BaseCommand):
    help = "Put a backup in the place of the record; what is there now is kept beside it."
    # There may be no database yet, or one that is damaged.
    requires_migrations_checks = False
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--identity", type=Path, metavar="FILE", help="the age key of an encrypted backup"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            about, kept = restore(options["file"], options["identity"], timezone.now())
        except (BackupError, OSError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            _("The record is as it was at %(moment)s. What tablets have sent since comes back when "
              "they are next used here. Everybody signs in again; shared tablets are enrolled "
              "again.")
            % {"moment": about.made_at}
        )  # fmt: skip
        if kept:
            self.stdout.write(_("What was here before is kept as %(name)s.") % {"name": kept})
