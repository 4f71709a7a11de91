"""manage.py export_child: one child's whole record as a file."""

import os
import uuid
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.privacy.forms import JSON, PDF
from readiness.privacy.page import record_file
from studio.models import Child
from studio.people.records import roots_of


class Command(BaseCommand):
    help = "Write everything that is kept of one child into a file that this account alone reads."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("child", type=uuid.UUID, help="the public id, as in the page's address")
        parser.add_argument("file", type=Path, help="a new file; .pdf to be read, else JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        of_id = Child.objects.filter(uuid=options["child"])
        child = Child.objects.filter(pk__in=roots_of(of_id)).first()
        if child is None:
            raise CommandError(_("There is no such child."))
        path: Path = options["file"]
        kind = PDF if path.suffix.lower() == ".pdf" else JSON
        try:
            place = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except OSError as fault:
            raise CommandError(f"{path}: {fault.strerror}") from fault
        with os.fdopen(place, "wb") as file:
            file.write(record_file(child, kind, None, timezone.now()))
        self.stdout.write(f"{path}")
