"""manage.py retention: what has been kept long enough, and with --apply let it go."""

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.privacy.retention import DELETED, left_long_ago, let_go


class Command(BaseCommand):
    help = "Say what has been kept long enough by the studio's rules; with --apply let it go."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--apply", action="store_true", help="without it nothing is changed")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        for rule in DELETED:
            self.stdout.write(f"{rule.title}: {rule.rows(now).count()}")
        children = list(left_long_ago(now))
        for child in children:
            self.stdout.write(f"  {child.uuid} {child.left_on}")
        self.stdout.write(_children_sentence(len(children)))
        if options["apply"]:
            let_go(now)
            self.stdout.write(_("Done."))
        else:
            self.stdout.write(_("Nothing was changed. With --apply it goes."))


def _children_sentence(count: int) -> str:
    if settings.LEFT_KEPT_YEARS is None:
        return _("Children who left: the studio has no rule yet (LEFT_KEPT_YEARS). All are kept.")
    return _(
        "Children who left more than %(years)d years ago: %(n)d. They are put up to be erased; "
        "directors say yes on the page “To be erased”."
    ) % {"years": settings.LEFT_KEPT_YEARS, "n": count}
