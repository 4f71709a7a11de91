"""manage.py purge_refused: delete refused lines that have been kept long enough."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from progression.log.rejected import KEPT_DAYS, purge


class Command(BaseCommand):
    help = "Delete refused lines of tablets that came longer ago than that."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--days", type=int, default=KEPT_DAYS, help="90 unless said")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["days"] < 1:
            raise CommandError(_("Say a number of days from 1 on."))
        deleted = purge(timezone.now(), options["days"])
        self.stdout.write(_("Refused lines deleted: %(n)d.") % {"n": deleted})
