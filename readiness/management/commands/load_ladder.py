"""manage.py load_ladder FILE [--check]: load a ladder as a new version, if all of it is right.

What touches a stage with a signature, and is not proven tighter, waits for a director's yes."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from progression.ladder.file import LadderFileError, parse
from progression.models import LadderProposal
from readiness.proposals.words import waiting_sentence
from readiness.record.ladder_loading import LadderMoved, LadderRefused, check
from readiness.record.two_people.second_yes import not_before
from readiness.record.two_people.waiting import bring_in
from studio.management.answers import staff_called
from studio.people.today import site_today


class Command(BaseCommand):
    help = "Check a ladder file whole and load it as a new version."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="a TOML file, such as fixtures/ladder.toml")
        parser.add_argument("--check", action="store_true", help="only check, load nothing")
        parser.add_argument("--by", help="the username of who loads it: another director says yes")
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
            by = staff_called([options["by"]])[0] if options["by"] else None
            day, reason = site_today(now), options["reason"]
            loaded = bring_in(content, now=now, from_day=day, reason=reason, by=by)
        except LadderRefused as refused:
            for fault in refused.faults:
                self.stderr.write(f"{fault.key}: {fault.message}")
            raise CommandError("Nothing was changed.") from None
        except LadderMoved:
            raise CommandError("Another change waits for its answer: one at a time.") from None
        if isinstance(loaded, LadderProposal):
            sentence = waiting_sentence(loaded, not_before(loaded))
            self.stdout.write(f"{sentence} It is on the page Gates.")
            return
        self.stdout.write(f"Version {loaded.number} counts from {loaded.from_day}.")
