"""manage.py add_class NAME --location L --weekday D --starts HH:MM: a class, created or
updated to these values. Children come with the roster."""

import datetime
from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils.translation import gettext as _

from studio.management.answers import checked, locations_called, staff_called
from studio.models import ClassGroup

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def time_of_day(text: str) -> datetime.time:
    try:
        return datetime.datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007
    except ValueError:
        raise ArgumentTypeError(f"“{text}” is not a time of day like 17:30") from None


def whole_minutes(text: str) -> int:
    if not text.isdecimal() or not 10 <= int(text) <= 300:
        raise ArgumentTypeError(f"“{text}” is not between 10 and 300 minutes")
    return int(text)


class Command(BaseCommand):
    help = "Add a class, or change the one of that name at the location."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name")
        parser.add_argument("--location", required=True)
        parser.add_argument("--weekday", type=str.lower, choices=WEEKDAYS)
        parser.add_argument("--starts", type=time_of_day, metavar="HH:MM")
        parser.add_argument("--minutes", type=whole_minutes)
        parser.add_argument(
            "--staff", action="append", default=[], help="a username to add, once for each of them"
        )
        parser.add_argument(
            "--not-staff", action="append", default=[], help="a username to take away"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        (location,) = locations_called([options["location"]])
        staff, gone = set(staff_called(options["staff"])), set(staff_called(options["not_staff"]))
        before = ClassGroup.objects.filter(location=location, name=options["name"]).first()
        wanted = self._wanted(options)
        if before is None and not {"weekday", "starts_at"} <= set(wanted):
            raise CommandError(_("Say when a new class meets, with --weekday and --starts."))
        group = before or ClassGroup(name=options["name"], location=location)
        changed = [field for field, value in wanted.items() if getattr(group, field) != value]
        for field, value in wanted.items():
            setattr(group, field, value)
        checked(group)
        with transaction.atomic():
            if before is None:
                group.save(force_insert=True)
            else:
                group.save(update_fields=changed)
            there = set(group.staff.all())
            moved = (there | staff) - gone != there
            if moved:
                group.staff.set((there | staff) - gone)
        self._report(group, is_new=before is None, is_changed=bool(changed) or moved)

    @staticmethod
    def _wanted(options: dict[str, Any]) -> dict[str, Any]:
        """The values given for the class, by field."""
        weekday = options["weekday"]
        given = {
            "weekday": WEEKDAYS.index(weekday) if weekday else None,
            "starts_at": options["starts"],
            "minutes": options["minutes"],
        }
        return {field: value for field, value in given.items() if value is not None}

    def _report(self, group: ClassGroup, *, is_new: bool, is_changed: bool) -> None:
        if not (is_new or is_changed):
            self.stdout.write(_("Nothing to change."))
            return
        message = _("Added %(name)s: %(day)s, %(time)s, %(staff)s.")
        if not is_new:
            message = _("Changed %(name)s: %(day)s, %(time)s, %(staff)s.")
        who = ", ".join(member.called for member in group.staff.order_by("username"))
        self.stdout.write(
            message
            % {
                "name": group.name,
                "day": group.get_weekday_display(),
                "time": group.starts_at.strftime("%H:%M"),
                "staff": who or _("no staff yet"),
            }
        )
