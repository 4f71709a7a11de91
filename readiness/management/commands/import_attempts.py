"""Bring a paper log in: import_attempts FILE shows what it would add, --commit adds it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.utils.translation import gettext as _

from readiness.paper.bring_in import PAPER_LOG, LogScope, PaperReading
from studio.imports.command import ImportCommand
from studio.models import Staff


class Command(ImportCommand):
    help = "Read a paper log (CSV) and show what it would add; with --commit, add it."
    kind = PAPER_LOG
    usual_option = ("--surface", "KEY", "the surface of lines that name none")

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--by", default="", metavar="NAME", help="the director who brings it in (sign-in name)"
        )

    def scope(self, options: dict[str, Any]) -> LogScope:
        return LogScope.everything(_director(options["by"]))

    def show(self, reading: PaperReading, scope: LogScope) -> None:
        log = reading.parsed
        self.stdout.write(
            _("In the name of %(name)s; --by names another.") % {"name": scope.sender.called}
        )
        for row in reading.by_child():
            self.stdout.write(
                _("%(child)s: %(turns)d turns, %(new)d of them new, %(first)s to %(last)s")
                % {
                    "child": row.child.name,
                    "turns": row.turns,
                    "new": row.new,
                    "first": row.first,
                    "last": row.last,
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
        self.show_refused(log.refused)
        self.stdout.write(
            _("%(new)d new turns, %(had)d in the log already, %(refused)d lines refused")
            % {"new": len(reading.new), "had": reading.had, "refused": reading.refused_lines}
        )


def _director(name: str) -> Staff:
    """The director in whose name the log comes in: the one named, or the first there was."""
    directors = Staff.objects.filter(role=Staff.Role.DIRECTOR, is_active=True)
    if name:
        directors = directors.filter(username=name)
    director = directors.order_by("pk").first()
    if director is None:
        raise CommandError(_("There is no such director. Name one with --by."))
    return director
