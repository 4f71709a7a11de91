"""manage.py after_restore MOMENT: what ends when a database is as it was at an earlier moment.

``restore`` runs it. By hand: after a database was put back by other means than ``restore``.
"""

import datetime
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from studio.backup.restoring import end_what_was_open


class Command(BaseCommand):
    help = "End sign-ins and tablets, and name the log anew, after a database was put back."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "moment",
            type=datetime.datetime.fromisoformat,
            help="of the backup, such as 2026-11-28T17:00:00+00:00",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        moment = options["moment"]
        if moment.tzinfo is None:
            moment = timezone.make_aware(moment)
        end_what_was_open(moment, timezone.now())
