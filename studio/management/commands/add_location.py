"""manage.py add_location NAME --zone ZONE: a hall, created or updated to these values."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.management.answers import checked
from studio.models import Location


class Command(BaseCommand):
    help = "Add a location, or change the one of that name."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name")
        parser.add_argument("--zone", help="its time zone, such as Europe/Lisbon")
        parser.add_argument("--address", help="shown on every floor page")
        parser.add_argument("--emergency", help="the number to call; giving it confirms it")

    def handle(self, *args: Any, **options: Any) -> None:
        before = Location.objects.filter(name=options["name"]).first()
        given = {
            "zone": options["zone"],
            "address": options["address"],
            "emergency_number": options["emergency"],
        }
        wanted = {field: value for field, value in given.items() if value is not None}
        if before is None and "zone" not in wanted:
            raise CommandError(_("Say the time zone of a new location, with --zone."))
        location = before or Location(name=options["name"])
        changed = [field for field, value in wanted.items() if getattr(location, field) != value]
        for field, value in wanted.items():
            setattr(location, field, value)
        checked(location)
        number_given = "emergency_number" in changed or location.confirmed_on is None
        if options["emergency"] and number_given:
            location.confirmed_on = location.day_of(timezone.now())
            location.confirmed_by = None
            changed += ["confirmed_on", "confirmed_by"]
        if before is None:
            location.save(force_insert=True)
            self.stdout.write(_("Added %(name)s.") % {"name": location.name})
        elif changed:
            location.save(update_fields=changed)
            self.stdout.write(_("Changed %(name)s.") % {"name": location.name})
        else:
            self.stdout.write(_("Nothing to change."))
