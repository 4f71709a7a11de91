"""manage.py staff_left USERNAME [--on YYYY-MM-DD | --back]: the end of somebody's access, or a new
beginning, which needs a new password."""

import datetime
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.management.answers import password_for, staff_called
from studio.people.today import site_today
from studio.staff.leaving import come_back, leave


class Command(BaseCommand):
    help = "End somebody's access: today, or from a day on."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")
        parser.add_argument(
            "--on",
            type=datetime.date.fromisoformat,
            metavar="YYYY-MM-DD",
            help="the first day without access; today unless it is said",
        )
        parser.add_argument("--back", action="store_true", help="let them in again")
        parser.add_argument(
            "--password-from-env", metavar="VAR", help="with --back: the new password"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        (staff,) = staff_called([options["username"]])
        if options["back"]:
            come_back(staff, password_for(staff, options["password_from_env"]), timezone.now())
            self.stdout.write(_("%(name)s can sign in again.") % {"name": staff.called})
            return
        day = options["on"] or site_today(timezone.now())
        leave(staff, day, None, timezone.now())
        sentence = _("%(name)s cannot sign in from %(day)s on.")
        self.stdout.write(sentence % {"name": staff.called, "day": day.isoformat()})
