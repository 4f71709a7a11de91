"""manage.py rebuild_standings [--check]: tallies and standings made again from the log."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from readiness.record.rebuild import rebuild
from studio.models import Child


class Command(BaseCommand):
    help = "Read the whole log again: put tallies and standings right, or only compare them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--check", action="store_true", help="change nothing; exit with 1 if anything differs"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        children = Child.objects.order_by("pk")
        names = {child.pk: str(child.uuid) for child in children}
        differences = 0
        for difference in rebuild(children, check=options["check"]):
            differences += 1
            self.stdout.write(f"{names[difference.child]}: {difference.what}")
        if not differences:
            self.stdout.write(f"{len(names)} children: all is as the log says.")
        elif options["check"]:
            raise CommandError(f"{differences} differ from what the log says.")
        else:
            self.stdout.write(f"{differences} put right.")
