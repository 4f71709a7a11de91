"""Letters printed together, some at a time: those of a run that are done stay done."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from readiness.letters.kept.files import Named
from readiness.letters.many.preparing import NotPrinted, prepared, print_prepared
from readiness.models import LetterInRun, LetterRun, PrintedLetter
from studio import access
from studio.models import Child, Staff
from studio.people.records import roots_of
from studio.people.today import site_today
from studio.people.told_apart import full_names

# A few seconds' work on a small machine.
AT_ONCE = 8
LONGEST_REASON = 500


@transaction.atomic
def begin(children: Sequence[Child], by: Staff, now: datetime.datetime) -> LetterRun:
    run = LetterRun.objects.create(by=by, at=now)
    rows = [LetterInRun(run=run, place=n, child=child) for n, child in enumerate(children)]
    LetterInRun.objects.bulk_create(rows)
    return run


def runs_of(staff: Staff) -> "QuerySet[LetterRun]":
    """One's own, the latest first."""
    return LetterRun.objects.filter(by=staff).order_by("-at", "-pk")


@transaction.atomic
def go_on(run: LetterRun, by: Staff, now: datetime.datetime, at_once: int = AT_ONCE) -> None:
    """Print the next few. One that cannot be printed is left out with its reason."""
    # Asked twice at the same time, the second goes on after the first.
    LetterRun.objects.select_for_update().get(pk=run.pk)
    rows = list(_to_come(run)[:at_once])
    names = roots_of([row.child_id for row in rows])
    children = access.visible_children(by, site_today(now)).filter(pk__in=names)
    found = list(children.exclude(birth_year=None).order_by("pk"))
    by_child = {each.child.pk: each for each in prepared(found, by, now)}
    for row in rows:
        each = by_child.get(row.child.root)
        try:
            if each is None:
                raise NotPrinted(_("This child is not in one of your classes now."))
            row.letter = print_prepared(each, by, now)
        except NotPrinted as reason:
            row.left_out = str(reason)[:LONGEST_REASON]
        row.save(update_fields=["letter", "left_out"])


def _to_come(run: LetterRun) -> "QuerySet[LetterInRun]":
    rows = run.rows.filter(letter=None, left_out="").select_related("child")
    return rows.order_by("place")


@dataclass(frozen=True)
class Progress:
    """How far a run has come. done: with the names of the children; left_out: with the reasons."""

    total: int
    done: Sequence[Named]
    left_out: Sequence[tuple[str, Child, str]]

    @property
    def so_far(self) -> int:
        return len(self.done) + len(self.left_out)

    @property
    def is_over(self) -> bool:
        return self.so_far == self.total


def progress_of(run: LetterRun, staff: Staff, now: datetime.datetime) -> Progress:
    """Of the children whom this member of staff sees now; without the files."""
    visible = access.visible_children(staff, site_today(now))
    rows = run.rows.select_related("child", "letter").defer("letter__file").order_by("place")
    every = list(rows)
    roots = {child.pk: child for child in visible.filter(pk__in=[row.child.root for row in every])}
    names = full_names(roots.values())
    shown = [row for row in every if row.child.root in roots]
    done = [Named(names[row.child.root], row.letter) for row in shown if row.letter]
    left_out = [
        (names[row.child.root], roots[row.child.root], row.left_out)
        for row in shown
        if row.left_out
    ]
    return Progress(len(shown), done, left_out)


def with_files(done: Sequence[Named]) -> list[Named]:
    """The same with their files, but for those whose file was erased."""
    letters = PrintedLetter.objects.in_bulk([each.letter.pk for each in done])
    found = [Named(each.name, letters[each.letter.pk]) for each in done]
    return [each for each in found if each.letter.file]
