"""manage.py purge_notes: erase notes that are older than 13 months."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.notes.keeping import erase_old


class Command(BaseCommand):
    help = "Erase notes on children that are older than 13 months."

    def handle(self, *args: Any, **options: Any) -> None:
        erased = erase_old(timezone.now().date())
        self.stdout.write(_("Notes erased: %(n)d.") % {"n": erased})
