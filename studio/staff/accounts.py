"""What was done to accounts, told to the directors of their halls. Shared: used by the commands
that make accounts, and by tonight's classes."""

import datetime

from django.db.models import Q, QuerySet
from django.utils.formats import date_format
from django.utils.functional import Promise as Lazy
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.access import visible_colleagues
from studio.audit.chain import note
from studio.models import AccountChange, AuditEntry, Staff

TOLD_FOR = datetime.timedelta(days=14)

SENTENCES: dict[str, Lazy] = {
    AccountChange.What.MADE: gettext_lazy("%(day)s: %(name)s’s account was made by %(by)s."),
    AccountChange.What.ROLE: gettext_lazy("%(day)s: %(name)s was given another role by %(by)s."),
    AccountChange.What.OTHER: gettext_lazy("%(day)s: %(name)s’s account was changed by %(by)s."),
    AccountChange.What.PASSWORD: gettext_lazy(
        "%(day)s: %(name)s’s password was chosen with a link made by %(by)s."
    ),
    AccountChange.What.PIN: gettext_lazy("%(day)s: %(name)s’s PIN was taken away by %(by)s."),
    AccountChange.What.LEFT: gettext_lazy("%(day)s: %(name)s’s access was ended by %(by)s."),
    AccountChange.What.BACK: gettext_lazy("%(day)s: %(name)s was let in again by %(by)s."),
}


def tell(staff: Staff, what: str, by: Staff | None, now: datetime.datetime) -> None:
    """Keep it for the directors of their halls; None: done at the server."""
    AccountChange.objects.create(staff=staff, what=what, by=by, at=now)
    note(AuditEntry.Kind.ACCOUNT, by, staff.uuid, now, what=what, role=staff.role)


def told_to(staff: Staff, now: datetime.datetime) -> list[str]:
    """What others did to the accounts of one's halls lately, the newest first."""
    return [_sentence(change) for change in _lately(staff, now)]


def _lately(staff: Staff, now: datetime.datetime) -> QuerySet[AccountChange]:
    theirs = visible_colleagues(staff).values("pk")
    others = Q(by=None) | ~Q(by=staff)
    lately = AccountChange.objects.filter(others, staff__in=theirs, at__gt=now - TOLD_FOR)
    # That one's own account was made is no news to oneself.
    lately = lately.exclude(staff=staff, what=AccountChange.What.MADE)
    return lately.select_related("staff", "by").order_by("-at", "-pk")


def _sentence(change: AccountChange) -> str:
    return str(SENTENCES[change.what]) % {
        "day": date_format(localtime(change.at), "j M Y"),
        "name": change.staff.called,
        "by": change.by.called if change.by else _("somebody at the server"),
    }
