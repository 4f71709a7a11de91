"""manage.py print_letters --class NAME | --child NAME | --all [--language L] --out PATH: letters
as files.

The same letters as on the page, kept as they were printed; what waits for a director's read is left
out, and named.
"""

import datetime
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.letters.kept.files import Named, file_names, one_file, zip_file
from readiness.letters.letter import language_of
from readiness.letters.many import runs
from readiness.letters.many.page import children_with_letters
from readiness.management.commands.readings import find_children
from studio.access import may_sign_in_rows, may_write_letters
from studio.models import Child, ClassGroup, Staff
from studio.people.class_lists import in_class
from studio.people.today import site_today

AT_ONCE = 25


class Command(BaseCommand):
    help = "Print letters into one PDF (PATH.pdf), a zip (PATH.zip), or a folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        whose = parser.add_mutually_exclusive_group(required=True)
        whose.add_argument("--class", dest="group", help="the name of a class")
        whose.add_argument("--child", help="name, name used, list id or id")
        whose.add_argument("--all", action="store_true", help="of all classes")
        parser.add_argument(
            "--language", choices=list(settings.LETTER_LANGUAGES), help="only letters in this one"
        )
        parser.add_argument("--out", type=Path, required=True, help="a .pdf, a .zip, or a folder")
        parser.add_argument(
            "--by", help="who signs them, by username; else a director of the child's hall"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        wanted, done, left_out = self._wanted(options), [], []
        languages = [options["language"]] if options["language"] else settings.LETTER_LANGUAGES
        for writer in writers(options["by"], now):
            theirs = [c for c in children_with_letters(writer, now) if c.pk in wanted]
            children = [child for child in theirs if language_of(child) in languages]
            wanted -= {child.pk for child in children}
            progress = self._print(children, writer, now)
            done += runs.with_files(progress.done)
            left_out += [(name, why) for name, _child, why in progress.left_out]
        for name, why in left_out:
            self.stdout.write(_("Left out: %(child)s. %(why)s") % {"child": name, "why": why})
        if not done:
            raise CommandError(_("No letter was printed."))
        write(done, options["out"])
        counted = {"n": len(done), "path": options["out"]}
        self.stdout.write(_("Letters printed and kept: %(n)d, in %(path)s") % counted)

    @staticmethod
    def _wanted(options: dict[str, Any]) -> set[int]:
        """The children asked for, by their keys."""
        if options["all"]:
            return set(Child.objects.filter(merged_into=None).values_list("pk", flat=True))
        if options["child"]:
            found = find_children(options["child"])
            if len(found) > 1:
                raise CommandError(_("Several children are called so: give the id of one."))
            if not found:
                raise CommandError(_("No child is called so."))
            return {found[0].pk}
        groups = list(ClassGroup.objects.filter(name=options["group"]).order_by("pk"))
        if not groups:
            raise CommandError(_("There is no class of that name."))
        return {row["root"] for group in groups for row in in_class(group.pk)}

    def _print(self, children: Sequence[Child], by: Staff, now: datetime.datetime) -> runs.Progress:
        run = runs.begin(children, by, now)
        for done in range(0, len(children), AT_ONCE):
            runs.go_on(run, by, now, AT_ONCE)
            so_far = min(done + AT_ONCE, len(children))
            self.stdout.write(f"{so_far} / {len(children)}")
        return runs.progress_of(run, by, now)


def writers(username: str | None, now: datetime.datetime) -> Iterator[Staff]:
    """Who signs: the one named, else the directors, each for the children of their halls."""
    may = Staff.objects.filter(may_sign_in_rows(site_today(now)), guest_on=None).order_by("pk")
    if not username:
        yield from may.filter(role=Staff.Role.DIRECTOR)
        return
    named = may.filter(username=username).first()
    if named is None or not may_write_letters(named):
        raise CommandError(_("Nobody of this username writes letters."))
    yield named


def write(letters: Sequence[Named], out: Path) -> None:
    if out.suffix == ".pdf":
        out.write_bytes(one_file(letters))
    elif out.suffix == ".zip":
        out.write_bytes(zip_file(letters))
    else:
        out.mkdir(parents=True, exist_ok=True)
        for name, each in zip(file_names(letters), letters, strict=True):
            (out / name).write_bytes(each.file)
