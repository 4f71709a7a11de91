"""manage.py add_staff USERNAME --role ROLE --location NAME: an account, created or
updated to these values. A new account needs a password."""

import datetime
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.management.answers import checked, locations_called, password_for
from studio.models import AccountChange, Staff
from studio.staff.accounts import tell


class Command(BaseCommand):
    help = "Add an account, or change the one of that name. Passwords: manage.py changepassword."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")
        parser.add_argument("--role", required=True, choices=Staff.Role.values)
        parser.add_argument("--name", default="", help="given name and family name")
        parser.add_argument(
            "--location", action="append", default=[], help="once for each location to add"
        )
        parser.add_argument(
            "--not-at", action="append", default=[], help="once for each location to take away"
        )
        parser.add_argument(
            "--guest-on",
            type=datetime.date.fromisoformat,
            metavar="YYYY-MM-DD",
            help="a guest reviewer: the account works on this day only",
        )
        parser.add_argument(
            "--password-from-env", metavar="VAR", help="read the password from this variable"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        before = Staff.objects.filter(username=options["username"]).first()
        if before is None and not options["location"]:
            raise CommandError(_("Say where, with --location."))
        staff = before or Staff(username=options["username"])
        wanted: dict[str, Any] = {"role": options["role"]}
        if options["guest_on"]:
            wanted["guest_on"] = options["guest_on"]
        if options["name"]:
            given, _space, family = options["name"].strip().partition(" ")
            wanted |= {"first_name": given, "last_name": family.strip()}
        changed = [field for field, value in wanted.items() if getattr(staff, field) != value]
        for field, value in wanted.items():
            setattr(staff, field, value)
        checked(staff, leave_out=["password"])
        if before is None:
            staff.set_password(password_for(staff, options["password_from_env"]))
        with transaction.atomic():
            if before is None:
                staff.save(force_insert=True)
            else:
                staff.save(update_fields=changed)
            moved = self._moved(staff, options)
            if before is None or changed or moved:
                tell(staff, self._what(before, changed), None, timezone.now())
        self._report(staff, is_new=before is None, is_changed=bool(changed) or moved)

    @staticmethod
    def _moved(staff: Staff, options: dict[str, Any]) -> bool:
        """Add the locations and take away those named for it; the others stay."""
        there = set(staff.locations.all())
        then = there | set(locations_called(options["location"]))
        then -= set(locations_called(options["not_at"]))
        if then != there:
            staff.locations.set(then)
        return then != there

    @staticmethod
    def _what(before: Staff | None, changed: list[str]) -> str:
        """A guest's day makes a role count as well."""
        if before is None:
            return AccountChange.What.MADE
        new_role = {"role", "guest_on"} & set(changed)
        return AccountChange.What.ROLE if new_role else AccountChange.What.OTHER

    def _report(self, staff: Staff, *, is_new: bool, is_changed: bool) -> None:
        if not (is_new or is_changed):
            self.stdout.write(_("Nothing to change."))
            return
        message = _("Added %(name)s, %(role)s.") if is_new else _("Changed %(name)s, %(role)s.")
        self.stdout.write(message % {"name": staff.called, "role": staff.get_role_display()})
        if staff.guest_on:
            self.stdout.write(
                _("The account works on %(day)s only.") % {"day": staff.guest_on.isoformat()}
            )
