"""manage.py open_account USERNAME: wrong passwords and PINs typed so far no longer count."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from studio.models import Staff
from studio.sign_in import throttle


class Command(BaseCommand):
    help = "Let somebody try again at once after too many wrong passwords or PINs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")

    def handle(self, *args: Any, **options: Any) -> None:
        staff = Staff.objects.filter(username=options["username"]).first()
        if staff is None:
            raise CommandError(
                _("Nobody has the account %(name)s.") % {"name": options["username"]}
            )
        tries = throttle.open_account(staff)
        words = _("%(name)s may try again at once. Wrong tries that counted: %(n)d.")
        self.stdout.write(words % {"name": staff.called, "n": tries})
