"""manage.py load_ladder FILE [--check]: load a ladder as a new version, if all of it is right."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from progression.ladder.file import LadderFileError, parse
from readiness.record.ladder_loading import LadderRefused, check, load
from studio.people.today import site_today


class Command(BaseCommand):
    help = "Check a ladder file whole and load it as a new version."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="a TOML file, such as fixtures/ladder.toml")
        parser.add_argument("--check", action="store_true", help="only check, load nothing")
        parser.add_argument("--reason", default="", help="why it is loaded, kept with it")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            content = parse(Path(options["file"]).read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, LadderFileError) as error:
            raise CommandError(str(error)) from None
        try:
            if options["check"]:
                check(content)
                self.stdout.write("The ladder is right. Nothing was loaded.")
                return
            now = timezone.now()
            version = load(content, now=now, from_day=site_today(now), reason=options["reason"])
        except LadderRefused as refused:
            for fault in refused.faults:
                self.stderr.write(f"{fault.key}: {fault.message}")
            raise CommandError("Nothing was changed.") from None
        self.stdout.write(f"Version {version.number} counts from {version.from_day}.")
