"""Bring a roster in: manage.py import_roster FILE shows what would change, --commit does it."""

from typing import Any

from django.utils.translation import gettext as _

from studio.imports.command import ImportCommand
from studio.roster.bring_in import ROSTER, Reading, Scope
from studio.roster.plan import PlannedChild


class Command(ImportCommand):
    help = "Read a roster (CSV) and show what would change; with --commit, change it."
    kind = ROSTER
    usual_option = ("--class", "NAME", "the class of lines that name none")

    def scope(self, options: dict[str, Any]) -> Scope:
        return Scope.everything()

    def show(self, reading: Reading, scope: Scope) -> None:
        plan = reading.plan
        assert plan is not None
        for planned in plan.new:
            self.stdout.write(_("new      %(child)s") % {"child": _new_child(planned)})
        for planned in plan.changed:
            self.stdout.write(_("changed  %(child)s") % {"child": _changed_child(planned)})
        for question in plan.questions:
            self.stdout.write(
                _("asked    line %(line)d: %(sentence)s")
                % {"line": question.line, "sentence": question.sentence}
            )
            for answer, words in question.options:
                self.stdout.write(f"         {answer}: {words}")
        self.show_refused(plan.refused)
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
                _(
                    "Lines asked about are left out. Answer them with --answers, or on the page "
                    "“Bring in a roster”."
                )
            )


def _new_child(planned: PlannedChild) -> str:
    row = planned.row
    classes = ", ".join(group.shown for group in planned.joins)
    lines = ", ".join(map(str, planned.lines))
    text = _("line %(lines)s: %(name)s, born %(month)s, %(classes)s") % {
        "lines": lines,
        "name": row.name,
        "month": row.born,
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
