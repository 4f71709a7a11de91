"""manage.py demo: make an invented studio and serve it.

It always uses var/demo.sqlite3 (see studio/settings.py) and never another database.
"""

import datetime
import logging
import os
import socket
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.demo.build import build
from readiness.demo.names import PASSWORD, SHOWN_SIGN_INS
from studio.models import Meeting, Staff

HOST = "127.0.0.1"


class Command(BaseCommand):
    help = "Make an invented studio with two years of records, and serve it."
    # The database has no tables yet.
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--again", action="store_true", help="make it again, as of today")
        parser.add_argument("--seed", type=int, default=1, help="another number, other children")
        parser.add_argument("--no-serve", action="store_true", help="stop before serving")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError(_("The demo runs as “manage.py demo” only."))
        if not options["no_serve"]:
            refuse_busy_port(options["port"])
        self.began = time.monotonic()
        file = Path(settings.DATABASES["default"]["NAME"])
        if options["again"] or not self._reuses(file):
            self._make(file, options["seed"], timezone.now())
        self._report(_("Collecting the static files."))
        call_command("collectstatic", interactive=False, verbosity=0)
        self._show_sign_ins(options["port"])
        if not options["no_serve"]:
            self._serve(options["port"])

    def _make(self, file: Path, seed: int, now: datetime.datetime) -> None:
        """Make the demo in another file, so that a half-made one is never used."""
        unfinished = file.with_name(f"{file.name}.making")
        remove_database(unfinished)
        connection.close()
        connection.settings_dict["NAME"] = str(unfinished)
        try:
            self._report(_("Making the tables."))
            call_command("migrate", verbosity=0)
            with connection.cursor() as cursor:
                # A half-made demo may be lost with the power.
                cursor.execute("PRAGMA synchronous=OFF")
            with only_warnings("ladder"):
                counts = build(now, seed, self._report)
            connection.close()
            remove_database(file)
            unfinished.replace(file)
        finally:
            connection.close()
            connection.settings_dict["NAME"] = str(file)
            remove_database(unfinished)
        self._report(
            _("Made %(children)d children with %(turns)d turns and %(decisions)d decisions.")
            % counts
        )

    def _reuses(self, file: Path) -> bool:
        """True if there is a demo already."""
        if not file.exists():
            return False
        call_command("migrate", verbosity=0)
        newest = Meeting.objects.order_by("-date", "-pk").first()
        if newest is None:
            return False
        self._report(
            _("Using the demo of %(day)s in %(file)s; with --again it is made again, as of today.")
            % {"day": newest.date.isoformat(), "file": file.relative_to(settings.BASE_DIR)}
        )
        return True

    def _report(self, sentence: str) -> None:
        seconds = time.monotonic() - self.began
        self.stdout.write(f"{seconds:5.1f} s  {sentence}")
        self.stdout.flush()

    def _show_sign_ins(self, port: int) -> None:
        self.stdout.write("")
        self.stdout.write(
            _("Open http://localhost:%(port)d and sign in with the password “%(password)s” as")
            % {"port": port, "password": PASSWORD}
        )
        for person in Staff.objects.filter(username__in=SHOWN_SIGN_INS).order_by("role", "pk"):
            self.stdout.write(
                f"  {person.username:10} {person.get_role_display()}, {person.called}"
            )

    def _serve(self, port: int) -> None:
        os.environ.setdefault("DJANGO_RUNSERVER_HIDE_WARNING", "true")
        connection.close()
        call_command("runserver", f"{HOST}:{port}", use_reloader=False, skip_checks=True)


@contextmanager
def only_warnings(name: str) -> Iterator[None]:
    """Keep a logger from writing a line for each event of the demo."""
    log = logging.getLogger(name)
    level = log.level
    log.setLevel(logging.WARNING)
    try:
        yield
    finally:
        log.setLevel(level)


def refuse_busy_port(port: int) -> None:
    """Fail before the demo is made, not after."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as trial:
        if trial.connect_ex((HOST, port)) == 0:
            raise CommandError(
                _("Something else answers on port %(port)d: give another with --port.")
                % {"port": port}
            )


def remove_database(file: Path) -> None:
    """Remove an SQLite file and its journal files."""
    for end in ("", "-wal", "-shm"):
        file.with_name(file.name + end).unlink(missing_ok=True)
