"""manage.py rebuild_standings [--check]"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from readiness.record.rebuild import rebuild
from studio.models import Child


class Command(BaseCommand):
    help = "Fold the whole log again: put tallies and standings right, or only compare them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--check", action="store_true", help="change nothing; exit with 1 if anything differs"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        children = Child.objects.order_by("pk")
        names = {child.pk: str(child.uuid) for child in children}
        found = 0
        for each in rebuild(children, check=options["check"]):
            found += 1
            self.stdout.write(f"{names[each.child]}: {each.what}")
        if not found:
            self.stdout.write(f"{len(names)} children: all is as the log says.")
        elif options["check"]:
            raise CommandError(f"{found} differ from what the log says.")
        else:
            self.stdout.write(f"{found} put right.")
