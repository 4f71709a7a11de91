"""manage.py begin: the first run of a real studio. What is there already stays as it is."""

import os
import secrets
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connection, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from progression.ladder.file import parse
from progression.models import LadderVersion
from readiness.record.ladder_loading import load
from studio.db.checks import findings
from studio.halls.emergency import missing_sentences
from studio.management.answers import answer, answer_if_any, checked, password_for
from studio.models import AccountChange, Location, Staff, Studio
from studio.staff.accounts import tell

LADDER_FILE = Path(settings.BASE_DIR) / "fixtures" / "ladder.toml"
KEY_FILE = Path(settings.VAR_DIR) / "secret-key"


class Command(BaseCommand):
    help = "Set up a real studio: key, tables, ladder, name, first location, director."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--studio", metavar="NAME", help="the studio's name")
        parser.add_argument("--location", metavar="NAME", help="its first location")
        parser.add_argument("--zone", help="the location's time zone, such as Europe/Lisbon")
        parser.add_argument("--address", help="where the location is, as told to an ambulance")
        parser.add_argument("--emergency", metavar="NUMBER", help="the number to call from there")
        parser.add_argument("--username", help="the director's, for signing in")
        parser.add_argument("--name", help="the director's given name and family name")
        parser.add_argument(
            "--password-from-env", metavar="VAR", help="read the password from this variable"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        made = [ensure_key(KEY_FILE)]
        call_command("migrate", verbosity=0)
        # No page opens without its style sheets in place.
        call_command("collectstatic", interactive=False, verbosity=0)
        for finding in findings(connection):
            self.stderr.write(f"{finding.msg} {finding.hint}")
        with transaction.atomic():
            made += [self._studio(options), self._location(options), self._director(options)]
            made.append(self._ladder())
        for sentence in filter(None, made):
            self.stdout.write(sentence)
        if not any(made):
            self.stdout.write(_("All of it is there already: nothing was changed."))
        else:
            self.stdout.write(
                _("Next: open it in a browser (docs/running.md) and look under “Desk”.")
            )

    def _studio(self, options: dict[str, Any]) -> str:
        if Studio.objects.exists():
            return ""
        name = answer(options["studio"], "--studio", _("The studio's name?"))
        checked(Studio(name=name)).save(force_insert=True)
        return _("The studio is called %(name)s.") % {"name": name}

    def _location(self, options: dict[str, Any]) -> str:
        if Location.objects.exists():
            return ""
        name = answer(options["location"], "--location", _("The name of its first location?"))
        zone = answer(options["zone"], "--zone", _("Its time zone, such as Europe/Lisbon?"))
        address = answer_if_any(options["address"], _("Its address, or nothing for now?"))
        number = answer_if_any(
            options["emergency"],
            _("The emergency number that is called there, or nothing for now?"),
        )
        location = Location(name=name, zone=zone, address=address, emergency_number=number)
        checked(location)
        location.confirmed_on = location.day_of(timezone.now()) if number else None
        location.save(force_insert=True)
        said = _("Its first location is %(name)s, %(zone)s.") % {"name": name, "zone": zone}
        return " ".join([said, *missing_sentences(location)])

    def _director(self, options: dict[str, Any]) -> str:
        if Staff.objects.filter(role=Staff.Role.DIRECTOR, guest_on=None).exists():
            return ""
        username = answer(options["username"], "--username", _("The director's username?"))
        name = answer(options["name"], "--name", _("The director's name?"))
        given, _space, family = name.partition(" ")
        staff = Staff(
            username=username,
            first_name=given,
            last_name=family.strip(),
            role=Staff.Role.DIRECTOR,
        )
        checked(staff, leave_out=["password"])
        staff.set_password(password_for(staff, options["password_from_env"]))
        staff.save(force_insert=True)
        staff.locations.set(Location.objects.all())
        tell(staff, AccountChange.What.MADE, None, timezone.now())
        return _("%(name)s is the director and signs in as %(username)s.") % {
            "name": staff.called,
            "username": username,
        }

    def _ladder(self) -> str:
        if LadderVersion.objects.exists():
            return ""
        now = timezone.now()
        location = Location.objects.order_by("pk")[:1].get()
        content = parse(LADDER_FILE.read_text(encoding="utf-8"))
        version = load(content, now=now, from_day=location.day_of(now))
        return _("The ladder “%(title)s” is loaded.") % {"title": version.content["title"]}


def ensure_key(file: Path) -> str:
    """Make the secret key that only this account can read, unless there is one."""
    if os.environ.get("SECRET_KEY") or file.exists():
        return ""
    file.parent.mkdir(exist_ok=True)
    handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as stream:
        stream.write(secrets.token_urlsafe(50))
    return _("Made a secret key in %(file)s.") % {"file": file}
