"""Bring a roster in: manage.py import_roster FILE shows what would change, --commit does it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

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
from studio.roster.bring_in import Reading, RosterOptions, Scope, bring_in, read_roster
from studio.roster.plan import Plan, PlannedChild


class Command(BaseCommand):
    help = "Read a roster (CSV) and show what would change; with --commit, change it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--commit", action="store_true", help="store what is shown")
        parser.add_argument(
            "--all-or-nothing", action="store_true", help="store nothing if a line is left out"
        )
        parser.add_argument(
            "--class",
            dest="usual",
            default="",
            metavar="NAME",
            help="the class of lines that name none",
        )
        add_file_options(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        data = read_bytes(options["file"])
        file_options = RosterOptions(
            encoding=options["encoding"],
            delimiter=DELIMITER_NAMES.get(options["delimiter"]),
            dates=options["dates"],
            usual=options["usual"],
        )
        scope, today = Scope.everything(), timezone.localdate()
        try:
            reading = read_roster(data, file_options, scope, today)
            plan = self._plan_in(reading)
            if options["refused"]:
                save_refused(self, options["refused"], reading.table, plan.left_out())
            if not (plan.children or plan.questions):
                raise CommandError(_("No line can be taken."))
            if options["commit"]:
                bring_in(
                    data,
                    file_options,
                    scope,
                    today,
                    all_or_nothing=options["all_or_nothing"],
                    shown=plan.digest,
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

    def _plan_in(self, reading: Reading) -> Plan:
        """Print how the file was read and what would change."""
        show_how_it_was_read(self, reading.table, reading.parsed.unused)
        if reading.parsed.fault:
            raise CommandError(reading.parsed.fault)
        if reading.plan is None:
            raise CommandError(dates_question(reading.parsed.dates.examples))
        self._show_plan(reading.plan)
        return reading.plan

    def _show_plan(self, plan: Plan) -> None:
        for planned in plan.new:
            self.stdout.write(_("new      %(child)s") % {"child": _new_child(planned)})
        for planned in plan.changed:
            self.stdout.write(_("changed  %(child)s") % {"child": _changed_child(planned)})
        for question in plan.questions:
            self.stdout.write(
                _("asked    line %(line)d: %(sentence)s")
                % {"line": question.line, "sentence": question.sentence}
            )
        show_refused(self, plan.refused)
        self.stdout.write(
            _(
                "%(new)d new, %(changed)d changed, %(same)d the same, %(asked)d asked about, "
                "%(refused)d refused"
            )
            % {
                "new": len(plan.new),
                "changed": len(plan.changed),
                "same": len(plan.same),
                "asked": len(plan.questions),
                "refused": plan.refused_lines,
            }
        )
        if plan.questions:
            self.stdout.write(
                _("Lines asked about are left out here; the page “Roster in” takes the answers.")
            )


def _new_child(planned: PlannedChild) -> str:
    row = planned.row
    classes = ", ".join(group.name for group in planned.joins)
    lines = ", ".join(map(str, planned.lines))
    text = _("line %(lines)s: %(name)s, born %(month)s, %(classes)s") % {
        "lines": lines,
        "name": row.name,
        "month": f"{row.birth_year}-{row.birth_month:02d}",
        "classes": classes,
    }
    return f"{text}. {planned.note}" if planned.note else text


def _changed_child(planned: PlannedChild) -> str:
    changes = "; ".join(f"{c.what}: {c.before or '–'} → {c.after or '–'}" for c in planned.changes)
    lines = ", ".join(map(str, planned.lines))
    return _("line %(lines)s: %(name)s: %(changes)s") % {
        "lines": lines,
        "name": planned.row.name,
        "changes": changes,
    }
