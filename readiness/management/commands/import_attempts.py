"""Bring a paper log in: import_attempts FILE shows what it would add, --commit adds it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.paper.bring_in import (
    LogScope,
    PaperOptions,
    PaperReading,
    bring_in_paper,
    read_paper,
)
from studio.imports.command_options import (
    DELIMITER_NAMES,
    add_file_options,
    dates_question,
    read_bytes,
    save_refused,
    show_how_it_was_read,
    show_refused,
)
from studio.imports.file_text import TableFileError
from studio.imports.unchanged import NotBroughtIn
from studio.models import Staff


class Command(BaseCommand):
    help = "Read a paper log (CSV) and show what it would add; with --commit, add it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--commit", action="store_true", help="store what is shown")
        parser.add_argument(
            "--all-or-nothing", action="store_true", help="store nothing if a line is left out"
        )
        parser.add_argument(
            "--by", default="", metavar="NAME", help="the director who brings it in (sign-in name)"
        )
        parser.add_argument(
            "--surface",
            dest="usual",
            default="",
            metavar="KEY",
            help="the surface of lines that name none",
        )
        add_file_options(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        data = read_bytes(options["file"])
        sender = _director(options["by"])
        told = PaperOptions(
            encoding=options["encoding"],
            delimiter=DELIMITER_NAMES.get(options["delimiter"]),
            dates=options["dates"],
            usual=options["usual"],
        )
        scope, now = LogScope.everything(sender), timezone.now()
        try:
            reading = read_paper(data, told, scope, now)
            self._show(reading, sender)
            if options["refused"]:
                save_refused(self, options["refused"], reading.table, reading.log.refused)
            if not reading.log.turns:
                raise CommandError(_("No line can be taken."))
            if options["commit"]:
                bring_in_paper(
                    data,
                    told,
                    scope,
                    now,
                    all_or_nothing=options["all_or_nothing"],
                    shown=reading.digest,
                )
        except TableFileError as error:
            raise CommandError(str(error)) from None
        except NotBroughtIn:
            raise CommandError(_("Nothing was stored, because lines are left out.")) from None
        self.stdout.write(
            _("Stored.")
            if options["commit"]
            else _("Nothing is stored yet: add --commit to store this.")
        )

    def _show(self, reading: PaperReading, sender: Staff) -> None:
        log = reading.log
        show_how_it_was_read(self, reading.table, log.unused)
        if log.fault:
            raise CommandError(log.fault)
        if log.dates.ask:
            raise CommandError(dates_question(log.dates.examples))
        self.stdout.write(
            _("In the name of %(name)s; --by names another.") % {"name": sender.called}
        )
        for each in reading.by_child():
            self.stdout.write(
                _("%(child)s: %(turns)d turns, %(new)d of them new, %(first)s to %(last)s")
                % {
                    "child": each.child.name,
                    "turns": each.turns,
                    "new": each.new,
                    "first": each.first,
                    "last": each.last,
                }
            )
        for line, score in log.scores:
            self.stdout.write(
                _("score    line %(line)d: %(score)s means the clean turns first, then the others")
                % {"line": line, "score": score}
            )
        for day in reading.floor_days:
            self.stdout.write(
                _("take care: %(child)s, %(drill)s, %(day)s has turns from the floor already")
                % {"child": day.child, "drill": day.drill, "day": day.day}
            )
        show_refused(self, log.refused)
        self.stdout.write(
            _("%(new)d new turns, %(had)d in the log already, %(refused)d lines refused")
            % {"new": len(reading.new), "had": reading.had, "refused": reading.refused_lines}
        )


def _director(name: str) -> Staff:
    """The director in whose name the log comes in: the one named, or the first there was."""
    directors = Staff.objects.filter(role=Staff.Role.DIRECTOR, is_active=True)
    if name:
        directors = directors.filter(username=name)
    found = directors.order_by("pk").first()
    if found is None:
        raise CommandError(_("There is no such director. Name one with --by."))
    return found
