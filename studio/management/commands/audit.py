"""manage.py audit --verify: whether the audit log is as it was written."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from studio.audit.chain import chain, verify


class Command(BaseCommand):
    help = "Read the audit log from its first row to its last, and name each that does not hold."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--verify", action="store_true", required=True)
        parser.add_argument("--head", default="", help="a digest that an earlier run has printed")

    def handle(self, *args: Any, **options: Any) -> None:
        chain()
        found = verify(options["head"])
        for fault in found.faults:
            self.stdout.write(fault)
        if found.faults:
            raise CommandError(_("%(n)d do not hold.") % {"n": len(found.faults)})
        values = {"rows": found.rows, "erased": found.erased, "head": found.head}
        self.stdout.write(_("%(rows)d rows hold, %(erased)d of them erased. %(head)s") % values)
