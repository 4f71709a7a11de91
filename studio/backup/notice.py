"""What the directors' first pages say of backups."""

import datetime

from django.conf import settings
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from studio import access
from studio.models import Restore, Staff, Studio

# The last good backup is old after this.
OLD = datetime.timedelta(days=2)


def about_backups(studio: Studio | None, staff: Staff, now: datetime.datetime) -> dict[str, object]:
    """For the frame of a page: what is to be said of backups, and the newest restore of which
    nobody has said that they looked through what was ended after its backup."""
    restored = Restore.objects.filter(looked_at=None).order_by("-at", "-pk").first()
    unsorted = access.unsorted_classes(staff).exists()
    return {
        "backup_notice": backup_notice(studio, now),
        "restored": restored,
        "unsorted": unsorted or access.unknown_children(staff, now.date()).exists(),
    }


def backup_notice(studio: Studio | None, now: datetime.datetime) -> str:
    """A sentence if there is no backup that is young enough; "" for the demo, whose people are
    invented."""
    if settings.DEMO or studio is None:
        return ""
    if studio.backed_up_at is None:
        return _("No backup of this record has been made yet.")
    if now - studio.backed_up_at <= OLD:
        return ""
    return _("The last good backup is of %(day)s.") % {
        "day": date_format(timezone.localtime(studio.backed_up_at), "l j F Y, H:i")
    }


def looked_through(by: Staff, now: datetime.datetime) -> None:
    Restore.objects.filter(looked_at=None).update(looked_at=now, looked_by=by)
